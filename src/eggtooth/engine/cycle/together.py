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
from dataclasses import replace
from typing import Any

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.grid import ROUND, Floats, Shape, grid_of
from eggtooth.engine.cycle.learn import PRIOR_SEASONS, YEARS_DIFFER_DAYS
from eggtooth.engine.cycle.marginal import GROWTH, TRAITS, UNITS, Lattice, Likelihood, lattice_of, likelihood
from eggtooth.engine.cycle.prior import Rates
from eggtooth.engine.cycle.smoothing import log_lattice

ALIKE_SD, ALIKE_OWN_SD = 0.3, 0.15
"""How far houses differ in how alike their females are (our choice): spread of the logarithm of the factor
common to all traits, and of each trait's own."""

SOFTER: Floats = np.array([0.0, 0.26, 0.42, 0.03])
"""How a house looks whose growth turns 1 mm more sharply than the grid's 3: shifts, in the facts' spreads, of
the curve of the grid nearest to it (least squares, 7 to 43 mm). Houses may differ by that (our choice)."""

COUNTS = 0.5
"""Weight of a female's entries in what they tell of the house: follicles do not grow by just these equations,
and an error of the curve is common to all (our choice)."""

LEAST_WITHIN = 0.25
MOST_FEMALES, BLOCK = 1000, 48
STEPS, LONGEST_STEP, SETTLED = 15, 1.5, 1e-3


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
    able = [i for i in house if i in teach]
    n = min(len(able), MOST_FEMALES)
    teachers = [able[k * len(able) // n] for k in range(n)]
    chosen = set(teachers)
    return teachers + [i for i in house if i not in chosen], n


def _key(e: Evidence) -> tuple[int, str]:
    """By the number of sightings; equal only where all that matters is equal."""
    noted = (e.follicles, e.ovulation, e.shed, e.laid, e.sheds, e.warm, e.swollen, e.met_male, e.not_before)
    return len(e.follicles), repr((noted, e.watched))


def _taught(found: Sequence[Evidence], rates: Sequence[Rates], shape: Shape, teachers: int) -> list[Rates]:
    """One house, those that teach first."""
    grid, few, own = grid_of(shape), found[:teachers], rates[:teachers]
    parts = [
        lattice_of(few[i : i + BLOCK], log_lattice(few[i : i + BLOCK], grid), grid, own[i : i + BLOCK])
        for i in range(0, teachers, BLOCK)
    ]
    cells, classes = (np.concatenate([getattr(p, n) for p in parts]) for n in ("cells", "classes"))
    house = House(rates)
    peak, told = house.peak(Lattice(grid, cells, classes))
    moved, left = zip(*(house.without(i, peak, told) for i in range(len(found))), strict=True)
    alike = float(np.mean([m[TRAITS:] for m in moved[:teachers]]))
    return [house.rates_of(i, m, v, alike) for i, (m, v) in enumerate(zip(moved, left, strict=True))]


class House:
    """One house: the prior of its shifts and spreads, and its females' own rates."""

    def __init__(self, rates: Sequence[Rates]) -> None:
        """Split each female's spread into what houses differ by and what females of one house do."""
        self.rates = rates
        self.means = _array(rates, "mean")
        sds = _array(rates, "sd")
        between = _between(sds.max(axis=0), rates[0].seasons)
        self.within = np.sqrt(np.maximum(sds**2 - between, LEAST_WITHIN * sds**2))
        self.covariance = _covariance(rates[0].seasons, between)
        self.precision = np.linalg.inv(self.covariance)
        self.root = np.linalg.cholesky(self.covariance)

    def peak(self, lattice: Lattice) -> tuple[Floats, Likelihood]:
        """Shifts and log factors of most weight, (8,), and the likelihood there."""
        at = np.zeros(2 * TRAITS)
        height, told = self._look(lattice, at)
        for _ in range(STEPS):
            slope = COUNTS * told.slope.sum(axis=0) - self.precision @ at
            step = self._left(-COUNTS * told.bend.sum(axis=0)) @ slope
            longest = float(np.abs(np.linalg.solve(self.root, step)).max())
            if longest < SETTLED:
                break
            step *= min(1.0, LONGEST_STEP / longest)
            higher, there = self._look(lattice, at + step)
            while higher < height and float(np.abs(step).max()) > SETTLED:
                step = step / 2
                higher, there = self._look(lattice, at + step)
            at, height, told = at + step, higher, there
        return at, told

    def _look(self, lattice: Lattice, at: Floats) -> tuple[float, Likelihood]:
        n = len(lattice.cells)
        mean = self.means[:n] + at[:TRAITS] * UNITS
        told = likelihood(lattice, mean, self.within[:n] * np.exp(at[TRAITS:]))
        return float(COUNTS * told.value.sum() - at @ self.precision @ at / 2), told

    def _left(self, information: Floats) -> Floats:
        """Covariance left of the prior's by what was told; what is told never takes knowledge away."""
        turned = self.root.T @ information @ self.root
        values, axes = np.linalg.eigh((turned + turned.T) / 2)
        to = self.root @ axes
        left: Floats = (to / (1 + np.maximum(values, 0))) @ to.T
        return left

    def without(self, i: int, peak: Floats, told: Likelihood) -> tuple[Floats, Floats]:
        """Peak of the house without one female (one Newton step back), and the variance of shifts left."""
        information = -COUNTS * told.bend.sum(axis=0)
        moved, slope = peak, np.zeros(2 * TRAITS)
        if i < len(told.slope):
            information, slope = information + COUNTS * told.bend[i], COUNTS * told.slope[i]
        covariance = self._left(information)
        moved = peak - covariance @ slope
        return moved, np.diag(covariance)[:TRAITS]

    def rates_of(self, i: int, moved: Floats, left: Floats, alike: float) -> Rates:
        """Rates of one female: her own, moved as the house is; `alike` moves the spreads not told of."""
        mean = self.means[i] + moved[:TRAITS] * UNITS
        sd = np.sqrt(self.within[i] ** 2 * np.exp(2 * moved[TRAITS:]) + left * UNITS**2)
        changed: dict[str, Any] = {
            name: getattr(self.rates[i], name)._replace(mean=float(m), sd=float(s))
            for name, m, s in zip(GROWTH, mean, sd, strict=True)
        }
        changed |= _as_alike(self.rates[i], alike)
        return replace(self.rates[i], **changed)


def _as_alike(rates: Rates, alike: float) -> dict[str, Any]:
    """Spreads of ovulation and the waits, in a house whose females are as alike as their growth tells."""
    between = 1 / (PRIOR_SEASONS + rates.seasons)
    factor = math.sqrt((1 - between) * math.exp(2 * alike) + between)
    return {
        "ovulation_sd": round(rates.ovulation_sd * factor, 2),
        "whole_sd": rates.whole_sd * factor,
        "shed": rates.shed._replace(sd=rates.shed.sd * factor),
        "lay": rates.lay._replace(sd=rates.lay.sd * factor),
    }


def _array(rates: Sequence[Rates], part: str) -> Floats:
    return np.array([[getattr(getattr(r, name), part) for name in GROWTH] for r in rates])


def _between(spread: Floats, seasons: float) -> Floats:
    """Variance of each trait between houses and years, (4,): the less, the more seasons taught the rates."""
    found: Floats = spread**2 / (PRIOR_SEASONS + seasons)
    found[0] += YEARS_DIFFER_DAYS**2
    return found


def _covariance(seasons: float, between: Floats) -> Floats:
    """Prior covariance of shifts and log factors, (8, 8)."""
    known = PRIOR_SEASONS / (PRIOR_SEASONS + seasons)
    found = np.zeros((2 * TRAITS, 2 * TRAITS))
    found[:TRAITS, :TRAITS] = np.diag(between / UNITS**2) + known * np.outer(SOFTER, SOFTER)
    found[TRAITS:, TRAITS:] = known * (ALIKE_SD**2 + ALIKE_OWN_SD**2 * np.eye(TRAITS))
    return found
