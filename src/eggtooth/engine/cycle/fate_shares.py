"""What becomes of a house's seasons: shares of each fate, from the likelihood of each season under each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.grid import Fate, Floats, Ints
from eggtooth.engine.cycle.prior import Rates
from eggtooth.engine.cycle.smoothing import fates

PRIOR_FATES = 12.0
"""Finished seasons the prior shares of reabsorption and of no growth weigh as much as (our choice)."""

ROUNDS, SETTLED = 200, 1e-4


class Shares(NamedTuple):
    """Rates with the shares learned, and by share how many seasons told of it."""

    rates: Rates
    worth: dict[str, float]


def learned_shares(
    found: Sequence[Evidence], by_class: Floats, fate: Ints, rates: Rates, prior: Rates
) -> Shares:
    """Expectation-maximisation over finished seasons, from each one's likelihood by class, (F, C), weighed by
    `rates`; `fate` (C,) is that of each class. One without a pairing noted all season counts as without a
    male.
    """
    weighed = np.array([fates(e, rates) for e in found])
    by_fate = np.stack([by_class[:, fate == f].sum(axis=1) for f in Fate], axis=1) / weighed
    by_fate /= np.maximum(by_fate.max(axis=1, keepdims=True), 1e-300)
    met = np.array([e.met_male for e in found], dtype=bool)
    for _ in range(ROUNDS):
        expected = by_fate * _chances(met, rates)
        expected /= np.maximum(expected.sum(axis=1, keepdims=True), 1e-300)
        old, (rates, worth) = rates, _counted(expected, met, rates, prior)
        if max(abs(getattr(rates, n) - getattr(old, n)) for n in worth) < SETTLED:
            break
    return Shares(rates, worth)


def _chances(met: NDArray[np.bool_], rates: Rates) -> Floats:
    """Chances of the four fates of a finished season, (F, 4)."""
    small = np.where(met, rates.small, rates.small_alone)
    grows = np.full(len(met), 1 - rates.never)
    goes_on = grows * (1 - small)
    return np.stack([goes_on * (1 - rates.large), grows * small, goes_on * rates.large, 1 - grows], axis=1)


def _counted(expected: Floats, met: NDArray[np.bool_], rates: Rates, prior: Rates) -> Shares:
    """Each share a mean of expected counts, (F, 4), with the prior's."""
    whole, with_male, alone = expected.sum(axis=0), expected[met].sum(axis=0), expected[~met].sum(axis=0)
    counts = {
        "never": (whole[Fate.NEVER], whole.sum()),
        "small": (with_male[Fate.SMALL], with_male.sum() - with_male[Fate.NEVER]),
        "small_alone": (alone[Fate.SMALL], alone.sum() - alone[Fate.NEVER]),
        "large": (whole[Fate.LARGE], whole[Fate.LAYS] + whole[Fate.LARGE]),
    }
    changed = {
        name: float((PRIOR_FATES * getattr(prior, name) + count) / (PRIOR_FATES + of))
        for name, (count, of) in counts.items()
    }
    learned = replace(rates, **changed)  # type: ignore[arg-type]
    return Shares(learned, {name: float(of) for name, (_, of) in counts.items()})
