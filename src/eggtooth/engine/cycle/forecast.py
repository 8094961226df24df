"""Each female's season as it stands on a day: stages, whether she lays, and the dates with their spread."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence, evidence_of
from eggtooth.engine.cycle.grid import FINE, Fate, Floats, Grid, Shape, grid_of
from eggtooth.engine.cycle.milestones import DAYS, Dates, backward, dates, sightings_of, waits_of
from eggtooth.engine.cycle.prior import PRIOR, Rates, read
from eggtooth.engine.cycle.smoothing import (
    Cells,
    Forward,
    fate_chances,
    forward,
    joined,
    log_lattice,
    noted_any,
    ovulation_message,
    reached,
    weights_of,
)
from eggtooth.engine.entries import Entry
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.normal import cdf
from eggtooth.engine.spans import LEVELS, Span

STAGES = ("resting", "growing", "building", "ovulated", "shed", "laid", "reabsorbed")
DATES = ("pairing_opens", "off_food", "ovulation", "prelay_shed", "laid", "pip")
BLOCK = 48
"""Females worked at once: keeps the lattice of a block near 10 MB, inside a processor's cache."""

INCUBATION = (biology.INCUBATION_AT_31_5.value, 3.4)
"""Days from laid to pip and their spread at 31.5 °C: the figure's own 2.5 days, and 4 % between clutches."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """One female's season as it stands.

    `stages` sums to one over `STAGES`; `dates` holds a span for each of `DATES`, given that she lays (for
    the first two: of growing females that do); all quantiles are equal for a date that was seen. `entries`
    are those the dates rest on.
    """

    stages: dict[str, float]
    p_lays: float
    dates: dict[str, Span]
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """Everything worked out for a few females: forward message, posterior cells, dates and fates."""

    found: Sequence[Evidence]
    grid: Grid
    ahead: Forward
    cells: Cells
    dates: Dates
    fates: Floats
    message: Floats


def forecast(
    seen: Sequence[History],
    settings: Settings,
    rates: Rates | Sequence[Rates] | None = None,
    shape: Shape = FINE,
    incubation: tuple[float, float] = INCUBATION,
    as_one_house: bool = True,
) -> list[Outlook]:
    """Forecast the seasons of many females, each on the day her history ends.

    `rates` is one set for all or one a female, the settings' own if not given; `incubation` days from laid to
    pip and their spread. Females of one day are one house and teach each other (see `together`), unless
    `as_one_house` is false: ask for all of a house, for a few chosen by their stage would mislead. Exact
    on the grid and deterministic. Cost: about 3 ms a female, under 400 MB.
    """
    from eggtooth.engine.cycle.pairing_notes import as_paired
    from eggtooth.engine.cycle.scanning import as_scanned
    from eggtooth.engine.cycle.together import taught

    found = [evidence_of(s, settings.season_start(s.on)) for s in seen]
    own = read(settings.learned_rates) if rates is None else rates
    if as_one_house:
        found = as_paired(as_scanned(found))
        own = taught(found, [own] * len(found) if isinstance(own, Rates) else own)
    return outlooks(found, own, shape, incubation)


def outlooks(
    found: Sequence[Evidence],
    rates: Rates | Sequence[Rates] = PRIOR,
    shape: Shape = FINE,
    incubation: tuple[float, float] = INCUBATION,
) -> list[Outlook]:
    """The same from evidence already read."""
    return [told for block in blocks(found, rates, shape) for told in told_of(block, incubation)]


def blocks(
    found: Sequence[Evidence], rates: Rates | Sequence[Rates] = PRIOR, shape: Shape = FINE
) -> Iterator[Block]:
    """Forward and backward for all, a few at a time."""
    for few in _few(len(found), rates):
        yield worked(found[few], rates if isinstance(rates, Rates) else rates[few], shape)


def _few(n: int, rates: Rates | Sequence[Rates]) -> Iterator[slice]:
    """At most `BLOCK` females side by side that share all rates but those of growth (see `_shared`)."""
    first = 0
    for i in range(1, n + 1):
        alike = isinstance(rates, Rates) or (i < n and _shared(rates[i]) == _shared(rates[first]))
        if i == n or i - first == BLOCK or not alike:
            yield slice(first, i)
            first = i


def _shared(rates: Rates) -> tuple[object, ...]:
    noted = rates.ovulation_noted, rates.shed_noted, rates.laid_noted
    return rates.shed, rates.lay, rates.whole_sd, rates.ovulation_sd, rates.bend_mm, noted


def late_dates(
    found: Sequence[Evidence], rates: Rates | Sequence[Rates] = PRIOR, shape: Shape = FINE
) -> list[tuple[Span, Span, Span]]:
    """Only ovulation, pre-lay shed and eggs, when nothing else is asked. Cost: about half of the whole."""
    told: list[tuple[Span, Span, Span]] = []
    for part in _few(len(found), rates):
        few, own = found[part], [rates] if isinstance(rates, Rates) else rates[part]
        grid = grid_of(shape.bent(own[0].bend_mm))
        logs, seen, waits = log_lattice(few, grid), sightings_of(few, own[0]), waits_of(own[0])
        ahead = forward(logs, grid, weights_of(few, grid, own), own[0].ovulation_sd)
        late = dates(ovulation_message(ahead), seen, backward(seen, waits), waits)
        days = [_quantiles(p, 0).tolist() for p in (late.ovulation, late.shed, late.laid)]
        told += [(span_of(e, a), span_of(e, b), span_of(e, c)) for e, a, b, c in zip(few, *days, strict=True)]
    return told


def span_of(e: Evidence, days: Sequence[float]) -> Span:
    """Dates of five season days."""
    return Span(*(e.date(int(d)) for d in days))


def worked(found: Sequence[Evidence], rates: Rates | Sequence[Rates] = PRIOR, shape: Shape = FINE) -> Block:
    """Forward and backward for a few females."""
    own = [rates] if isinstance(rates, Rates) else rates
    grid = grid_of(shape.bent(own[0].bend_mm))
    ahead = forward(log_lattice(found, grid), grid, weights_of(found, grid, own), own[0].ovulation_sd)
    return joined_up(found, grid, ahead, own[0])


def joined_up(found: Sequence[Evidence], grid: Grid, ahead: Forward, rates: Rates) -> Block:
    """Join the lattice with the milestones."""
    seen, waits = sightings_of(found, rates), waits_of(rates)
    back = backward(seen, waits)
    message = ovulation_message(ahead)
    noted = noted_any(found)
    chances = fate_chances(ahead, grid, message, back, noted)
    cells = joined(ahead, grid, back.ovulation, noted)
    return Block(found, grid, ahead, cells, dates(message, seen, back, waits), chances, back.ovulation)


def told_of(block: Block, incubation: tuple[float, float] = INCUBATION) -> list[Outlook]:
    """What a block says of each of its females."""
    spans = {name: _quantiles(pmf, FIRST) for name, pmf in by_day(block, incubation).items()}
    stages = _stages(block)
    return [
        Outlook(
            dict(zip(STAGES, (float(p) for p in stages[i]), strict=True)),
            float(block.fates[i, Fate.LAYS]),
            {n: span_of(e, spans[n][i]) for n in DATES},
            e.entries,
        )
        for i, e in enumerate(block.found)
    ]


UNTOLD = 1e-60
"""Weight of every day of an early date, so that one nothing speaks for any more is wide and not absent."""

FIRST = -120
"""First season day of a date's distribution, for those that may lie before the breeding year turned."""


def by_day(block: Block, incubation: tuple[float, float]) -> dict[str, Floats]:
    """Distribution by day of each date, (F, DAYS - FIRST), from season day `FIRST` on."""
    late, grid = block.dates, block.grid
    days = np.arange(91.0) + 0.5
    wait = np.diff(cdf((np.append(days - 1, days[-1]) - incubation[0]) / incubation[1]))
    pip = np.stack([np.convolve(row, wait)[:DAYS] for row in late.laid])
    early = {
        "pairing_opens": _early(block.cells[:, : grid.lays].sum(axis=1), grid),
        "off_food": _early(reached(block.cells, grid, grid.reach_25).sum(axis=1), grid),
    }
    return early | {
        name: np.pad(pmf, ((0, 0), (-FIRST, 0)))
        for name, pmf in (
            ("ovulation", late.ovulation),
            ("prelay_shed", late.shed),
            ("laid", late.laid),
            ("pip", pip),
        )
    }


def _early(by_step: Cells, grid: Grid) -> Floats:
    """From steps since the first start to days since `FIRST`, each step's weight laid over its days."""
    step, first = grid.shape.step, grid.shape.first_start - FIRST
    spread = np.repeat(np.asarray(by_step, dtype=float) / step + UNTOLD, step, axis=1)
    found = np.zeros((len(spread), DAYS - FIRST))
    width = min(spread.shape[1], DAYS - FIRST - first)
    found[:, first : first + width] = spread[:, :width]
    total: Floats = found.sum(axis=1, keepdims=True)
    return found / total


def _quantiles(pmf: Floats, first: int) -> Floats:
    """Season days at `LEVELS`, (F, 5), of distributions by day from season day `first` on."""
    upto = np.cumsum(pmf, axis=1)
    upto /= upto[:, -1:]
    return np.stack([(upto < level).sum(axis=1) for level in LEVELS], axis=1) + first


def _stages(block: Block) -> Floats:
    """Chance of each of `STAGES` on each female's day, (F, 7)."""
    grid, late = block.grid, block.dates
    found = np.zeros((len(block.found), len(STAGES)))
    lays = block.fates[:, Fate.LAYS]
    cells = still_growing(block)
    for i, e in enumerate(block.found):
        upto = [float(d[i, : e.today + 1].sum()) for d in (late.ovulation, late.shed, late.laid)]
        found[i, 3:6] = lays[i] * (np.array(upto) - np.array([*upto[1:], 0.0]))
        before = _by_size(cells[i], grid, e.today)
        rest = 1 - lays[i] * upto[0]
        found[i, [0, 1, 2, 6]] = before * rest / max(before.sum(), 1e-300)
    return found


def still_growing(block: Block) -> Cells:
    """Posterior weight of every cell that has not ovulated by the female's day, (F, C, S)."""
    later = np.arange(DAYS)[None, :] > np.array([e.today for e in block.found])[:, None]
    message = np.where(later, block.message, 0.0)
    return joined(block.ahead, block.grid, message, noted_any(block.found))


def _by_size(cells: Cells, grid: Grid, today: int) -> Floats:
    """Weight at rest, growing, building and reabsorbed on a day, (4,), of one female's cells."""
    size = grid.mm_on(today)
    over = grid.reabsorbed_on(today)
    rests, grows = size < biology.RESTING_BELOW.value, size < biology.HINGE.value
    parts = (rests & ~over, grows & ~rests & ~over, ~grows & ~over, over)
    return np.array([float(cells[p].sum()) for p in parts])
