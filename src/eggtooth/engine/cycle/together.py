"""What the females of one house teach each other within the running season.

Females of one room start early or late together, grow fast or slow together, and differ more or less from one
another than the facts' females do. For each growth trait the house has a shift of its centre and a factor on
its spread, both unknown: they are estimated from what was noted of all its females this season, by Newton
steps to the peak of their likelihood times a prior. The facts' spread is split into what houses and years
differ by and what females of one house do, so that a house of which nothing was noted keeps the facts' rates.

Each female is told by the house **without herself**, so that nothing she shows counts twice: a female alone
keeps the rates as they were. Only how often the house notes each milestone is told by all in common: it rests
on females of whom another one was noted, and of them it says next to nothing new. Finished seasons have no
part in it (see `learn`), nor has any later day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from eggtooth.engine.cycle.bend import TELL_THE_BEND, beforehand, noted_on, order_of, spaced
from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.grid import ROUND, Floats, Shape
from eggtooth.engine.cycle.marginal import TRAITS, Likelihood
from eggtooth.engine.cycle.noted_shares import noted_shares
from eggtooth.engine.cycle.one_house import House
from eggtooth.engine.cycle.prior import BENDS_MM, Rates

MOST_FEMALES = 1000


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
    keys = [order_of(e) for e in found]
    by: dict[tuple[object, int], list[int]] = {}
    for i in sorted(range(len(found)), key=keys.__getitem__):
        by.setdefault((found[i].start, found[i].today), []).append(i)
    return [_teachers_first(house, teach) for house in by.values()]


def _teachers_first(house: list[int], teach: frozenset[int]) -> tuple[list[int], int]:
    teachers = spaced([i for i in house if i in teach], MOST_FEMALES)
    chosen, n = set(teachers), len(teachers)
    return teachers + [i for i in house if i not in chosen], n


def _taught(found: Sequence[Evidence], rates: Sequence[Rates], shape: Shape, teachers: int) -> list[Rates]:
    """One house, those that teach first. Each has the bend that the others show."""
    house, few = House(rates), found[:teachers]
    peaks: dict[float, tuple[Floats, Likelihood]] = {}
    bends = _bends(found, rates, shape, teachers, peaks)
    noted = noted_shares(few, rates[0])
    own = list(rates)
    for bend in sorted(set(bends)):
        peak, told = peaks.get(bend) or house.peak(noted_on(few, rates[:teachers], shape.bent(bend)))
        moved, left = zip(*(house.without(i, peak, told) for i in range(len(found))), strict=True)
        alike = float(np.mean([m[TRAITS:] for m in moved[:teachers]]))
        for i in (i for i, b in enumerate(bends) if b == bend):
            own[i] = replace(house.rates_of(i, moved[i], left[i], alike, bend), **noted)  # type: ignore[arg-type]
    return own


def _bends(
    found: Sequence[Evidence],
    rates: Sequence[Rates],
    shape: Shape,
    teachers: int,
    peaks: dict[float, tuple[Floats, Likelihood]],
) -> list[float]:
    """The likeliest bend of each female by the others; `peaks` keeps what was found where all were asked."""
    asked = spaced(range(teachers), TELL_THE_BEND)
    few, own = [found[i] for i in asked], [rates[i] for i in asked]
    house = House(own)
    told = np.empty((len(BENDS_MM), len(asked) + 1))
    for k, bend in enumerate(BENDS_MM):
        peak, seen = house.peak(noted_on(few, own, shape.bent(bend)))
        told[k] = house.evidence(peak, seen) + beforehand(bend, rates[0])
        if len(asked) == teachers:
            peaks[bend] = peak, seen
    others = BENDS_MM[int(np.argmax(told[:, -1]))]
    bends = [others] * len(found)
    for i, likeliest in zip(asked, np.argmax(told[:, :-1], axis=0), strict=True):
        bends[i] = BENDS_MM[int(likeliest)]
    return bends
