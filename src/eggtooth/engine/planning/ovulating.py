"""When each female most likely ovulates, as chances over the days ahead, from her season as it stands."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from eggtooth.engine.cycle.prior import Rates, read
from eggtooth.engine.cycle.season import PAST_OVULATION, Season, Stage
from eggtooth.engine.facts import biology
from eggtooth.engine.house import Settings
from eggtooth.engine.normal import cdf
from eggtooth.engine.planning.occupants import Occupant
from eggtooth.engine.spans import LEVELS, Span

Floats = NDArray[np.float64]

STEP, AHEAD = 4, 240
EDGES: Floats = np.arange(0.0, AHEAD + 1, STEP)
"""Edges, in days from tonight, of the spans of days over which an ovulation is told."""
MIDDLES: Floats = EDGES[:-1] + STEP / 2

SLOW_DAYS = (biology.HINGE.value - biology.PAIRING_FROM.value) / biology.SLOW_GROWTH.value
FAST_DAYS = (biology.OVULATION_AT.value - biology.HINGE.value) / biology.FAST_GROWTH.value
GROWTH_SD = math.hypot(0.35 * SLOW_DAYS, 0.30 * FAST_DAYS)
DECIDES_DAYS = FAST_DAYS + (biology.HINGE.value - biology.DOMINANT_FROM.value) / biology.SLOW_GROWTH.value
"""Days before ovulation when follicles reach 20 mm by the plain rates; a male's presence counts before."""


@dataclass(frozen=True, slots=True)
class Chances:
    """For each female: chance by day ahead of ovulating if she lays, (F, len(MIDDLES)); that she lays, (F,).

    A row may sum to less than one: what is missing lies behind her, or beyond `AHEAD` days.
    """

    ovulates: Floats
    lays: Floats


def chances_of(females: Sequence[Occupant], settings: Settings) -> Chances:
    """Read the females' seasons. Cost: about 30 µs a female."""
    rates = read(settings.learned_rates)
    if not females:
        return Chances(np.zeros((0, len(MIDDLES))), np.zeros(0))
    below = np.array([_below(o, settings, rates) for o in females])
    return Chances(np.diff(below, axis=1), np.array([_lays(o, settings, rates) for o in females]))


def _below(female: Occupant, settings: Settings, rates: Rates) -> Floats:
    """Chance that she has ovulated by each of `EDGES`."""
    season = female.season
    if season and season.ovulation:
        return _told(season.ovulation, female.seen.on.toordinal())
    mean = rates.starts.mean + SLOW_DAYS + FAST_DAYS
    sd = math.hypot(rates.starts.sd, GROWTH_SD)
    days = EDGES + (female.seen.on - settings.season_start(female.seen.on)).days
    risen = cdf((days - mean) / sd)
    earliest = _not_started_by(female, settings)
    if earliest is None:
        return risen
    cut = float(cdf((earliest + FAST_DAYS + SLOW_DAYS - GROWTH_SD - mean) / sd))
    return np.maximum(risen - cut, 0.0) / max(1 - cut, 1e-6)


def _told(span: Span, today: int) -> Floats:
    """Through the five dates of a span; its ends reach out as far again as from the 25 to the 5 % date."""
    days = [d.toordinal() - today for d in (span.q05, span.q25, span.q50, span.q75, span.q95)]
    first, last = days[0] - max(1, days[1] - days[0]), days[4] + max(1, days[4] - days[3])
    at = np.maximum.accumulate(np.array([first, *days, last], dtype=float) + np.arange(7) * 1e-6)
    return np.asarray(np.interp(EDGES, at, (0.0, *LEVELS, 1.0)))


def _not_started_by(female: Occupant, settings: Settings) -> float | None:
    """Season day before which a resting female, as scanned, has surely not reached 12 mm."""
    season = female.season
    if season is None or season.basis is None or season.follicle_mm is None:
        return None
    scanned = (season.basis.on - settings.season_start(female.seen.on)).days
    return scanned + (biology.PAIRING_FROM.value - season.follicle_mm) / biology.SLOW_GROWTH.value / 2


def _lays(female: Occupant, settings: Settings, rates: Rates) -> float:
    """Chance that she lays if she meets males in time."""
    season = female.season
    if season is None or season.stage in PAST_OVULATION:
        return 0.0
    if season.stage is Stage.RESTING:
        small = _starts_still(female, settings, rates) * (1 - rates.small)
    else:
        small = 1.0 if _dominant(season) else 1 - rates.small
    return small * (1 - rates.large)


def _dominant(season: Season) -> bool:
    return season.stage is Stage.BUILDING or (season.follicle_mm or 0) >= biology.DOMINANT_FROM.value


def _starts_still(female: Occupant, settings: Settings, rates: Rates) -> float:
    """Chance that follicles grow this season though none did by her last scan."""
    earliest = _not_started_by(female, settings)
    if earliest is None:
        return 1 - rates.never
    left = (1 - rates.never) * (1 - float(cdf((earliest - rates.starts.mean) / rates.starts.sd)))
    return left / (left + rates.never)
