"""The house's own rates from its finished seasons, shrunk to the priors of the facts.

Expectation-maximisation over the same grid as the forecast: the lattice of each finished season is worked
once (its likelihood does not depend on the rates), then the rates are set to what the seasons say, each
season counting by how surely it tells, until nothing moves. The prior counts as a few seasons of its own, so
that no season changes nothing and many seasons outweigh it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any, NamedTuple

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence, evidence_of
from eggtooth.engine.cycle.forecast import BLOCK, joined_up
from eggtooth.engine.cycle.grid import LEARN, Fate, Floats, Grid, Shape, grid_of
from eggtooth.engine.cycle.milestones import DAYS, waits_of
from eggtooth.engine.cycle.prior import FAST, PRIOR, SLOW, TURN, Rates, Trait
from eggtooth.engine.cycle.smoothing import Cells, Forward, forward, log_lattice, weights_of
from eggtooth.engine.entries import Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings

PRIOR_SEASONS = 4.0
"""Finished seasons the prior's centre weighs as much as (our choice)."""

PRIOR_SPREAD_SEASONS = 4.0
"""Finished seasons the prior's spread weighs as much as (our choice)."""

PRIOR_FATES = 12.0
"""Finished seasons the prior shares of reabsorption and of no growth weigh as much as (our choice)."""

YEARS_DIFFER_DAYS = 7.0
"""How far the whole house starts earlier or later from one year to the next (our choice)."""

MOST_SEASONS = 1000
ROUNDS, SETTLED = 15, 1e-2


class Told(NamedTuple):
    """What the finished seasons say of one trait: its new spread, the standard error of its centre, and how
    many fully seen seasons they are worth."""

    trait: Trait
    error: float
    worth: float


@dataclass(frozen=True, slots=True)
class Learned:
    """Rates learned; by name the standard error of each centre, how many fully seen seasons it is worth, and
    how many seasons told of it at all."""

    rates: Rates
    errors: dict[str, float]
    effective: dict[str, float]
    seasons: dict[str, int]


def learn(finished: Sequence[Evidence], shape: Shape = LEARN, prior: Rates = PRIOR) -> Learned:
    """Learn the house's rates from finished seasons, at most the latest 1,000.

    Returns the prior unchanged when there are none. Deterministic. Cost: about 20 ms and 50 kB a
    season.
    """
    kept = sorted((e for e in finished if _tells(e)), key=lambda e: e.start)[-MOST_SEASONS:]
    if not kept:
        return Learned(prior, _prior_errors(prior), dict.fromkeys(NAMES, 0.0), _counts(kept))
    waits = _learn_waits(kept, prior)
    rates = replace(prior, shed=waits["shed"].trait, lay=waits["lay"].trait, whole_sd=_whole(kept, prior))
    errors = _prior_errors(prior) | {name: told.error for name, told in waits.items()}
    grid = grid_of(shape)
    blocks = [kept[i : i + BLOCK] for i in range(0, len(kept), BLOCK)]
    logs = [log_lattice(few, grid) for few in blocks]
    years = len({e.start for e in kept})
    worth = {name: told.worth for name, told in waits.items()}
    for _ in range(ROUNDS):
        sums = _expect(blocks, logs, grid, rates)
        climbed, told = _maximise(sums, rates, prior, years, shape)
        errors |= {name: t.error for name, t in told.items()}
        worth |= {name: t.worth for name, t in told.items()} | sums.fate_worth()
        moved, rates = _moved(climbed, rates), climbed
        if moved < SETTLED:
            break
    rates = replace(rates, seasons=worth["slow"])
    return Learned(rates, errors, worth, _counts(kept))


def finished_seasons(seen: Sequence[History], settings: Settings) -> list[Evidence]:
    """The breeding years of these females that are over by their histories' day, where anything tells."""
    found = []
    for history in seen:
        end = settings.season_start(history.on) - timedelta(days=1)
        oldest = min((e.on for k in MILESTONES_AND_SCANS for e in history.all(k)[:1]), default=end)
        while end >= oldest:
            start = settings.season_start(end)
            evidence = evidence_of(history, start, end)
            found += [evidence] if _tells(evidence) else []
            end = start - timedelta(days=1)
    return found


MILESTONES_AND_SCANS = (Kind.SCAN, Kind.OVULATION, Kind.PRELAY_SHED, Kind.LAID)


def _tells(e: Evidence) -> bool:
    scanned = any(s.what[0].startswith("scan") for s in e.follicles)
    return scanned or e.met_male or any(d is not None for d in (e.ovulation, e.shed, e.laid))


def _counts(kept: Sequence[Evidence]) -> dict[str, int]:
    scanned = sum(any(s.what[0].startswith("scan") for s in e.follicles) for e in kept)
    both = {
        "shed": sum(e.ovulation is not None and e.shed is not None for e in kept),
        "lay": sum(e.shed is not None and e.laid is not None for e in kept),
    }
    met = sum(e.met_male for e in kept)
    fates = {"never": len(kept), "small": met, "small_alone": len(kept) - met, "large": len(kept)}
    return {"starts": len(kept), "slow": scanned, "fast": scanned, "turn": scanned, **both, **fates}


@dataclass
class Sums:
    """Expected counts over seasons: weight, moments and variance within by trait; weight and square of how
    far sizes at ovulation lie from the usual; fates."""

    moments: dict[str, Floats]
    sizes: Floats
    fates: Floats
    met: Floats
    alone: Floats

    def fate_worth(self) -> dict[str, float]:
        """Seasons that told of each share."""
        grown = self.fates[Fate.LAYS] + self.fates[Fate.LARGE]
        met, alone = (float(s.sum() - s[Fate.NEVER]) for s in (self.met, self.alone))
        return {"never": float(self.fates.sum()), "small": met, "small_alone": alone, "large": float(grown)}


GROWTH = ("starts", "slow", "turn", "fast")
NAMES = (*GROWTH, "shed", "lay", "never", "small", "small_alone", "large")


def _expect(blocks: Sequence[Sequence[Evidence]], logs: Sequence[Cells], grid: Grid, rates: Rates) -> Sums:
    """Expected counts under the rates as they stand."""
    sums = Sums({name: np.zeros(4) for name in GROWTH}, np.zeros(2), np.zeros(4), np.zeros(4), np.zeros(4))
    waits = waits_of(rates)
    for few, log in zip(blocks, logs, strict=True):
        ahead = forward(log, grid, weights_of(few, grid, [rates]), rates.ovulation_sd)
        block = joined_up(few, grid, ahead, waits)
        sums.sizes += _sizes(ahead, grid, block.message)
        cells = block.cells / np.maximum(block.cells.sum(axis=(1, 2), keepdims=True), 1e-30)
        for name, (at, who) in trait_values(grid).items():
            sums.moments[name] += _moments(cells, at, who, name == "starts")
        met = np.array([e.met_male for e in few], dtype=bool)
        sums.fates += block.fates.sum(axis=0)
        sums.met += block.fates[met].sum(axis=0)
        sums.alone += block.fates[~met].sum(axis=0)
    return sums


def trait_values(grid: Grid) -> dict[str, tuple[Floats, Floats]]:
    """Each trait's value by class (or start), on the scale it is normal on, and which classes count."""
    lays = grid.fate == Fate.LAYS
    grows = grid.fate != Fate.NEVER
    raw = {
        name: trait.mean + trait.sd * np.array([*z, 0.0])[grid.levels[:, column]]
        for name, trait, z, column in (
            ("slow", SLOW, grid.shape.slow_z, 0),
            ("turn", TURN, grid.shape.turn_z, 1),
            ("fast", FAST, grid.shape.fast_z, 2),
        )
    }
    fading = np.array([*grid.shape.fading_z, 0.0])[np.minimum(grid.levels[:, 0], len(grid.shape.fading_z))]
    slow = np.where(lays, raw["slow"], SLOW.mean + SLOW.sd * fading)
    return {
        "starts": (grid.starts.astype(float), grows.astype(float)),
        "slow": (slow, grows.astype(float)),
        "turn": (raw["turn"], lays.astype(float)),
        "fast": (raw["fast"], lays.astype(float)),
    }


def _sizes(ahead: Forward, grid: Grid, message: Floats) -> Floats:
    """Weight, and sum of squares in mm², of how far from the usual size noted ovulations came."""
    n, fast, steps = ahead.reaches.shape
    day = np.tile(grid.shape.first_start + grid.shape.step * np.arange(steps), fast)
    off_mm = (np.arange(DAYS)[None, :] + 0.5 - day[:, None]) * np.repeat(grid.fast_mm_day, steps)[:, None]
    flat = ahead.reaches.reshape(n, -1)
    whole = (flat * (message @ ahead.ovulates.T)).sum(axis=1)
    square = (flat * (message @ (ahead.ovulates * off_mm**2).T)).sum(axis=1)
    told = whole > 0
    return np.array([told.sum(), (square[told] / whole[told]).sum()])


def _moments(cells: Cells, at: Floats, who: Floats, over_starts: bool) -> Floats:
    """Sum over females of weight, weighted value, weighted square, and variance within each female."""
    weight = np.einsum("fcs,c->fs", cells, who) if over_starts else cells.sum(axis=2) * who
    mass = weight.sum(axis=1)
    first, second = weight @ at, weight @ at**2
    with np.errstate(invalid="ignore", divide="ignore"):
        within = np.where(mass > 1e-9, second - first**2 / mass, 0.0)
    return np.array([mass.sum(), first.sum(), second.sum(), within.sum()])


def _maximise(
    sums: Sums, rates: Rates, prior: Rates, years: int, shape: Shape
) -> tuple[Rates, dict[str, Told]]:
    """New rates from expected counts. Years differ as a whole, so a start is never surer than its years."""
    cells = _cell_sizes(shape)
    told = {
        name: _trait(sums.moments[name], getattr(rates, name), getattr(prior, name), cells[name])
        for name in GROWTH
    }
    error = math.hypot(told["starts"].error, YEARS_DIFFER_DAYS / math.sqrt(years))
    told["starts"] = told["starts"]._replace(error=error)
    changed: dict[str, Any] = {name: t.trait for name, t in told.items()}
    changed |= _shares(sums, prior)
    weight = PRIOR_SPREAD_SEASONS + sums.sizes[0]
    changed["ovulation_sd"] = math.sqrt(
        float(PRIOR_SPREAD_SEASONS * prior.ovulation_sd**2 + sums.sizes[1]) / weight
    )
    return replace(rates, **changed), told


def _cell_sizes(shape: Shape) -> dict[str, float]:
    """Distance of neighbouring levels of each trait on the grid, on the trait's scale."""
    levels = {"slow": (SLOW, shape.slow_z), "turn": (TURN, shape.turn_z), "fast": (FAST, shape.fast_z)}
    apart = {n: t.sd * (z[1] - z[0]) if len(z) > 1 else 0.0 for n, (t, z) in levels.items()}
    return {"starts": float(shape.step), **apart}


def _trait(moments: Floats, now: Trait, prior: Trait, cell: float) -> Told:
    """New centre and spread from expected moments, the prior counting as seasons of its own.

    The variance is less by that of values rounded to the grid (Sheppard). The error of the centre counts a
    season by the share of the spread it takes away (Louis).
    """
    n, first, second, within = (float(m) for m in moments)
    mean = (PRIOR_SEASONS * prior.mean + first) / (PRIOR_SEASONS + n)
    about = second - 2 * mean * first + n * mean**2 - n * cell**2 / 12
    moved = PRIOR_SEASONS * (mean - prior.mean) ** 2
    variance = (PRIOR_SPREAD_SEASONS * prior.sd**2 + max(about, 0.0) + moved) / (PRIOR_SPREAD_SEASONS + n)
    told = PRIOR_SEASONS + max(n - within / max(variance, 1e-12), 0.0)
    return Told(Trait(mean, math.sqrt(variance), now.log), math.sqrt(variance / told), told - PRIOR_SEASONS)


def _shares(sums: Sums, prior: Rates) -> dict[str, float]:
    """Chances of the fates, each a mean of counts with the prior's."""

    def share(count: float, of: float, before: float) -> float:
        return (PRIOR_FATES * before + count) / (PRIOR_FATES + of)

    counts = {
        "never": sums.fates[Fate.NEVER],
        "small": sums.met[Fate.SMALL],
        "small_alone": sums.alone[Fate.SMALL],
        "large": sums.fates[Fate.LARGE],
    }
    return {
        name: share(float(counts[name]), of, getattr(prior, name)) for name, of in sums.fate_worth().items()
    }


def _moved(new: Rates, old: Rates) -> float:
    """Largest move of a centre or spread, in spreads."""
    pairs = [(getattr(new, n), getattr(old, n)) for n in GROWTH]
    return float(max(max(abs(a.mean - b.mean), abs(a.sd - b.sd)) / b.sd for a, b in pairs))


def _learn_waits(kept: Sequence[Evidence], prior: Rates) -> dict[str, Told]:
    """The two waits, from seasons in which both their ends were noted."""
    shed = [e.shed - e.ovulation for e in kept if e.ovulation is not None and e.shed is not None]
    lay = [e.laid - e.shed for e in kept if e.shed is not None and e.laid is not None]
    return {"shed": _noted(shed, prior.shed), "lay": _noted([math.log(max(d, 1)) for d in lay], prior.lay)}


def _noted(values: Sequence[float], prior: Trait) -> Told:
    x = np.array(values, dtype=float)
    clear = x[np.abs(x - prior.mean) < 4 * prior.sd]
    moments = np.array([len(clear), clear.sum(), (clear**2).sum(), 0.0])
    return _trait(moments, prior, prior, 0.0)


def _whole(kept: Sequence[Evidence], prior: Rates) -> float:
    """Spread of ovulation to eggs, from seasons in which both were noted."""
    days = [float(e.laid - e.ovulation) for e in kept if e.ovulation is not None and e.laid is not None]
    whole = Trait(prior.shed.centre + prior.lay.centre, prior.whole_sd)
    return _noted(days, whole).trait.sd


def _prior_errors(prior: Rates) -> dict[str, float]:
    names = (*GROWTH, "shed", "lay")
    return {name: getattr(prior, name).sd / math.sqrt(PRIOR_SEASONS) for name in names}
