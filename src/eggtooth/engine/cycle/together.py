"""What the females of one house teach each other within the running season.

Females of one room start early or late together, grow fast or slow together, and differ more or less from one
another than the facts' females do. For each growth trait the house has a shift of its centre and a factor on
its spread, both unknown: they are estimated from what was noted of all its females this season, by Newton
steps to the peak of their likelihood times a prior. The facts' spread is split into what houses and years
differ by and what females of one house do, so that a house of which nothing was noted keeps the facts' rates.

Each female is told by the house **without herself**, so that nothing she shows counts twice: a female alone
keeps the rates as they were. Finished seasons have no part in it (see `learn`), nor has any later day.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.grid import ROUND, Floats, Shape, grid_of
from eggtooth.engine.cycle.learn import PRIOR_SEASONS
from eggtooth.engine.cycle.marginal import TRAITS, Lattice, Likelihood, lattice_of
from eggtooth.engine.cycle.one_house import House
from eggtooth.engine.cycle.prior import BENDS_MM, Rates
from eggtooth.engine.cycle.smoothing import log_lattice

TELL_THE_BEND = 100
"""How many females are asked how softly growth turns in the house."""

MOST_FEMALES, BLOCK = 1000, 48


def taught(
    found: Sequence[Evidence],
    rates: Sequence[Rates],
    shape: Shape = ROUND,
    teach: Sequence[int] | None = None,
) -> list[Rates]:
    """Rates of each female as the others of her house teach them, from the rates each has by herself.

    All of one breeding year and day are one house; the order they come in does not matter. `teach` are those
    that teach, all if not given, and of more than `MOST_FEMALES` so many, evenly spaced from those with few
    entries to those with many. Cost: about 0.5 ms and 60 kB a teaching female.
    """
    own, chosen = list(rates), frozenset(range(len(found)) if teach is None else teach)
    for house, teachers in _houses(found, chosen):
        if teachers and len(house) > 1:
            told = _taught([found[i] for i in house], [own[i] for i in house], shape, teachers)
            for i, r in zip(house, told, strict=True):
                own[i] = r
    return own


def _houses(found: Sequence[Evidence], teach: frozenset[int]) -> list[tuple[list[int], int]]:
    """Females of one breeding year and day, those that teach first, and how many these are. Only what was
    noted of them decides the order."""
    keys = [_key(e) for e in found]
    by: dict[tuple[object, int], list[int]] = {}
    for i in sorted(range(len(found)), key=keys.__getitem__):
        by.setdefault((found[i].start, found[i].today), []).append(i)
    return [_teachers_first(house, teach) for house in by.values()]


def _teachers_first(house: list[int], teach: frozenset[int]) -> tuple[list[int], int]:
    teachers = _spaced([i for i in house if i in teach], MOST_FEMALES)
    chosen, n = set(teachers), len(teachers)
    return teachers + [i for i in house if i not in chosen], n


def _spaced(able: Sequence[int], most: int) -> list[int]:
    """At most so many of them, evenly spaced."""
    n = min(len(able), most)
    return [able[k * len(able) // n] for k in range(n)]


def _key(e: Evidence) -> tuple[int, str]:
    """By the number of sightings; equal only where all that matters is equal."""
    noted = (e.follicles, e.ovulation, e.shed, e.laid, e.sheds, e.warm, e.swollen, e.met_male, e.not_before)
    return len(e.follicles), repr((noted, e.watched))


def _taught(found: Sequence[Evidence], rates: Sequence[Rates], shape: Shape, teachers: int) -> list[Rates]:
    """One house, those that teach first. Each has the bend that the others show."""
    house, few = House(rates), found[:teachers]
    peaks: dict[float, tuple[Floats, Likelihood]] = {}
    bends = _bends(found, rates, shape, teachers, peaks)
    own = list(rates)
    for bend in sorted(set(bends)):
        peak, told = peaks.get(bend) or house.peak(_lattice(few, rates[:teachers], shape.bent(bend)))
        moved, left = zip(*(house.without(i, peak, told) for i in range(len(found))), strict=True)
        alike = float(np.mean([m[TRAITS:] for m in moved[:teachers]]))
        for i in (i for i, b in enumerate(bends) if b == bend):
            own[i] = house.rates_of(i, moved[i], left[i], alike, bend)
    return own


def _bends(
    found: Sequence[Evidence],
    rates: Sequence[Rates],
    shape: Shape,
    teachers: int,
    peaks: dict[float, tuple[Floats, Likelihood]],
) -> list[float]:
    """The likeliest bend of each female by the others; `peaks` keeps what was found where all were asked."""
    asked = _spaced(range(teachers), TELL_THE_BEND)
    few, own = [found[i] for i in asked], [rates[i] for i in asked]
    house = House(own)
    told = np.empty((len(BENDS_MM), len(asked) + 1))
    for k, bend in enumerate(BENDS_MM):
        peak, seen = house.peak(_lattice(few, own, shape.bent(bend)))
        told[k] = house.evidence(peak, seen) + _beforehand(bend, rates[0])
        if len(asked) == teachers:
            peaks[bend] = peak, seen
    others = BENDS_MM[int(np.argmax(told[:, -1]))]
    bends = [others] * len(found)
    for i, likeliest in zip(asked, np.argmax(told[:, :-1], axis=0), strict=True):
        bends[i] = BENDS_MM[int(likeliest)]
    return bends


def _beforehand(bend: float, rates: Rates) -> float:
    """Logarithm of how likely a bend is beforehand: each step from what is known halves it, and the more
    finished seasons taught the rates, the more."""
    steps = abs(BENDS_MM.index(bend) - BENDS_MM.index(rates.bend_mm))
    return -steps * math.log(2) * (PRIOR_SEASONS + rates.seasons) / PRIOR_SEASONS


def _lattice(found: Sequence[Evidence], rates: Sequence[Rates], shape: Shape) -> Lattice:
    """All that was noted of these females on a grid, a block at a time."""
    grid = grid_of(shape)
    parts = []
    for i in range(0, len(found), BLOCK):
        few = found[i : i + BLOCK]
        parts.append(lattice_of(few, log_lattice(few, grid), grid, rates[i : i + BLOCK]))
    return Lattice(
        grid, *(np.concatenate([getattr(p, n) for p in parts]) for n in ("cells", "log_scale", "classes"))
    )
