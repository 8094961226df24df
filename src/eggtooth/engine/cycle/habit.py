"""A female's own habit: what her past seasons say of this one, as rates of her own.

A trait of one season is the female's own value plus that year's luck; `PERSISTS` is the share of the spread
that is her own. Each past season, seen as well as its notes allow, pulls her value from the house's centre
towards what it showed, and what is left of the spread is narrower.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.forecast import blocks
from eggtooth.engine.cycle.grid import ROUND, Fate, Floats, Grid, Shape
from eggtooth.engine.cycle.learn import finished_seasons
from eggtooth.engine.cycle.marginal import GROWTH
from eggtooth.engine.cycle.prior import FAST, PERSISTS, SLOW, TURN, Rates, Trait
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.spans import Z90

LATEST_SEASONS, LEAST_SCANS = 3, 3
LEAST_VARIANCE = 0.05
"""No season tells a trait more closely than the levels of the grid lie (in spreads, squared)."""


Range = tuple[float, float, float]
"""The middle of a 90 % interval between its ends."""


@dataclass(frozen=True, slots=True)
class Habit:
    """A female's next season by her own past ones: `seasons` finished and noted, the season day on which she
    reaches 12 mm, and her growth below and above the turn as a multiple of the house's.
    """

    seasons: int
    starts: Range
    slow: Range
    fast: Range


def habits_of(seen: Sequence[History], settings: Settings, rates: Rates) -> list[Habit]:
    """Each female's habit beside the house's rates. Cost: as `own_rates`."""
    own = own_rates(seen, settings, rates)
    counts = [len(finished_seasons([s], settings)) for s in seen]
    return [_habit(n, hers, rates) for n, hers in zip(counts, own, strict=True)]


def _habit(seasons: int, hers: Rates, house: Rates) -> Habit:
    slow, fast = (_ratio(getattr(hers, name), getattr(house, name)) for name in ("slow", "fast"))
    low, high = (hers.starts.mean + z * hers.starts.sd for z in (-Z90, Z90))
    return Habit(seasons, (low, hers.starts.mean, high), slow, fast)


def _ratio(hers: Trait, house: Trait) -> Range:
    """Both are normal in the logarithm."""
    off = hers.mean - house.mean
    return math.exp(off - Z90 * hers.sd), math.exp(off), math.exp(off + Z90 * hers.sd)


def own_rates(seen: Sequence[History], settings: Settings, rates: Rates, shape: Shape = ROUND) -> list[Rates]:
    """Rates of each female: the house's where no finished season tells, else drawn to her own latest three.

    Cost: about 2 ms a past season.
    """
    past = [sorted(finished_seasons([s], settings), key=lambda e: e.start)[-LATEST_SEASONS:] for s in seen]
    whose = [i for i, seasons in enumerate(past) for _ in seasons]
    told = shown([e for seasons in past for e in seasons], rates, shape)
    by_female: dict[int, list[Floats]] = {}
    for i, season in zip(whose, told, strict=True):
        by_female.setdefault(i, []).append(season)
    return [_drawn(rates, np.array(by_female[i])) if i in by_female else rates for i in range(len(seen))]


def shown(seasons: Sequence[Evidence], rates: Rates, shape: Shape = ROUND) -> list[Floats]:
    """What each season shows of the four growth traits, (4, 2): centre and variance of its own likelihood.

    In standard deviations from the house's centre, with the house's spread taken out of the posterior again;
    an infinite variance where the season tells nothing.
    """
    found: list[Floats] = []
    for block in blocks(seasons, rates, shape):
        scales = trait_values(block.grid)
        parts = [_likelihood(block.cells, *scales[n], getattr(rates, n), n == "starts") for n in GROWTH]
        told = np.stack(parts, axis=1)
        told[[not scanned_often(e) for e in block.found], 1:, 1] = np.inf
        found += list(told)
    return found


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


def scanned_often(e: Evidence) -> bool:
    """Whether a season's scans tell how she grew; without them only when she starts is taken from it."""
    scans = [s for s in e.follicles if s.what[0].startswith("scan") and s.what[1] > 0]
    return len(scans) >= LEAST_SCANS


def _likelihood(cells: Any, at: Floats, who: Floats, trait: Any, over_starts: bool) -> Floats:
    """Centre and variance by female, (F, 2)."""
    whole = cells.sum(axis=(1, 2))
    weight = np.einsum("fcs,c->fs", cells, who) if over_starts else cells.sum(axis=2) * who
    mass = np.maximum(weight.sum(axis=1), 1e-30)
    z = (at - trait.mean) / trait.sd
    mean = weight @ z / mass
    variance = np.maximum(weight @ z**2 / mass - mean**2, LEAST_VARIANCE)
    told = np.maximum(1 / variance - 1, 1e-6) * mass / np.maximum(whole, 1e-30)
    centre = np.clip(mean / variance / np.maximum(1 / variance - 1, 1e-6), -4, 4)
    return np.stack([centre, 1 / told], axis=1)


def _drawn(rates: Rates, seasons: Floats) -> Rates:
    """Rates of one female from her seasons, (seasons, 4, 2)."""
    told = 1 / ((1 - PERSISTS) + seasons[:, :, 1])
    precision = 1 / PERSISTS + told.sum(axis=0)
    centre = (told * seasons[:, :, 0]).sum(axis=0) / precision
    spread = np.sqrt(1 / precision + 1 - PERSISTS)
    changed: dict[str, Any] = {}
    for name, z, sd in zip(GROWTH, centre.tolist(), spread.tolist(), strict=True):
        trait = getattr(rates, name)
        changed[name] = trait._replace(mean=trait.mean + z * trait.sd, sd=trait.sd * sd)
    return replace(rates, **changed)
