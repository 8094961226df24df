"""One house's rates by what all its females show: shifts of centres, factors on spreads (see `together`)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from eggtooth.engine.cycle.grid import Floats
from eggtooth.engine.cycle.marginal import GROWTH, TRAITS, UNITS, Lattice, Likelihood, likelihood
from eggtooth.engine.cycle.prior import PRIOR_SEASONS, YEARS_DIFFER_DAYS, Rates

ALIKE_SD, ALIKE_OWN_SD = 0.3, 0.15
"""How far houses differ in how alike their females are (our choice): spread of the logarithm of the factor
common to all traits, and of each trait's own."""


COUNTS = 0.5
"""Weight of a female's entries in what they tell of the house: follicles do not grow by just these equations,
and an error of the curve is common to all (our choice)."""

LEAST_WITHIN = 0.25
STEPS, LONGEST_STEP, SETTLED = 15, 1.5, 1e-3


class House:
    """One house: the prior of its shifts and spreads, and its females' own rates."""

    def __init__(self, rates: Sequence[Rates], counts: float = COUNTS, one_year: bool = True) -> None:
        """Split each female's spread into what houses differ by and what females of one house do.

        `counts` is the weight of what each female shows. Seasons of many years (not `one_year`) differ among
        themselves by their years too, and this stays within.
        """
        self.rates, self.counts = rates, counts
        self.means = _array(rates, "mean")
        sds = _array(rates, "sd")
        between = _between(sds.max(axis=0), rates[0].seasons, one_year)
        self.within = np.sqrt(np.maximum(sds**2 - between, LEAST_WITHIN * sds**2))
        self.covariance = _covariance(rates[0].seasons, between)
        self.precision = np.linalg.inv(self.covariance)
        self.root = np.linalg.cholesky(self.covariance)

    def peak(self, lattice: Lattice, near: Floats | None = None) -> tuple[Floats, Likelihood]:
        """Shifts and log factors of most weight, (8,), looked for from `near`, and the likelihood there."""
        at = np.zeros(2 * TRAITS) if near is None else near
        height, told = self._look(lattice, at)
        for _ in range(STEPS):
            slope = self.counts * told.slope.sum(axis=0) - self.precision @ at
            step = self.left(-self.counts * told.bend.sum(axis=0)) @ slope
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
        told = likelihood(lattice, *self.spreads(len(lattice.cells), at))
        return float(self.counts * told.value.sum() - at @ self.precision @ at / 2), told

    def spreads(self, n: int, at: Floats) -> tuple[Floats, Floats]:
        """Centres and spreads of the first `n` females when the house is moved, (n, 4) each."""
        return self.means[:n] + at[:TRAITS] * UNITS, self.within[:n] * np.exp(at[TRAITS:])

    def left(self, information: Floats) -> Floats:
        """Covariance left of the prior's by what was told; what is told never takes knowledge away."""
        turned = self.root.T @ information @ self.root
        values, axes = np.linalg.eigh((turned + turned.T) / 2)
        to = self.root @ axes
        left: Floats = (to / (1 + np.maximum(values, 0))) @ to.T
        return left

    def without(self, i: int, peak: Floats, told: Likelihood) -> tuple[Floats, Floats]:
        """Peak of the house without one female (one Newton step back), and the variance of shifts left."""
        information = -self.counts * told.bend.sum(axis=0)
        moved, slope = peak, np.zeros(2 * TRAITS)
        if i < len(told.slope):
            information, slope = information + self.counts * told.bend[i], self.counts * told.slope[i]
        covariance = self.left(information)
        moved = peak - covariance @ slope
        return moved, np.diag(covariance)[:TRAITS]

    def evidence(self, peak: Floats, told: Likelihood) -> Floats:
        """Logarithm of how likely all that was noted is, shifts and spreads summed out about their peak
        (Laplace), without each female in turn and then of all, (F + 1,)."""
        left = self.left(-self.counts * told.bend.sum(axis=0))
        room = (np.linalg.slogdet(left)[1] - np.linalg.slogdet(self.covariance)[1]) / 2
        value = np.append(told.value, 0.0)
        whole: Floats = self.counts * (told.value.sum() - value) - peak @ self.precision @ peak / 2 + room
        return whole

    def rates_of(self, i: int, moved: Floats, left: Floats, alike: float, bend_mm: float) -> Rates:
        """Rates of one female: her own, moved as the house is; `alike` moves the spreads not told of."""
        mean = self.means[i] + moved[:TRAITS] * UNITS
        sd = np.sqrt(self.within[i] ** 2 * np.exp(2 * moved[TRAITS:]) + left * UNITS**2)
        changed: dict[str, Any] = {
            name: getattr(self.rates[i], name)._replace(mean=float(m), sd=float(s))
            for name, m, s in zip(GROWTH, mean, sd, strict=True)
        }
        changed |= _as_alike(self.rates[i], alike)
        return replace(self.rates[i], bend_mm=bend_mm, **changed)


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


def _between(spread: Floats, seasons: float, one_year: bool) -> Floats:
    """Variance of each trait between houses and years, (4,): the less, the more seasons taught the rates."""
    found: Floats = spread**2 / (PRIOR_SEASONS + seasons)
    if one_year:
        found[0] += YEARS_DIFFER_DAYS**2
    return found


def _covariance(seasons: float, between: Floats) -> Floats:
    """Prior covariance of shifts and log factors, (8, 8)."""
    known = PRIOR_SEASONS / (PRIOR_SEASONS + seasons)
    found = np.zeros((2 * TRAITS, 2 * TRAITS))
    found[:TRAITS, :TRAITS] = np.diag(between / UNITS**2)
    found[TRAITS:, TRAITS:] = known * (ALIKE_SD**2 + ALIKE_OWN_SD**2 * np.eye(TRAITS))
    return found
