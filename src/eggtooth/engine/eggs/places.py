"""Places in the incubators over a season: how many clutches lie there on each day, and the chance of
running out.

Each clutch, here or to come, takes one place from the day it is laid until it has hatched. Clutches are
taken as independent, so the number on a day is Poisson-binomial, found exactly by adding one clutch after
another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from eggtooth.engine.spans import LEVELS, Span

Floats = NDArray[np.floating[Any]]


@dataclass(frozen=True, slots=True)
class Stay:
    """A clutch's stay: the chance that it comes at all, when it comes and when its place is free again."""

    tag: str
    chance: float
    comes: Span
    leaves: Span


def by_day(span: Span, first: date, days: int) -> Floats:
    """Chance that the date of a span is not after each of `days` days from `first`.

    Straight lines through the five quantiles; beyond them, tails half as long again as the outer quarters.
    """
    q = np.array([d.toordinal() for d in (span.q05, span.q25, span.q50, span.q75, span.q95)], float)
    low = q[0] - 0.5 * (q[1] - q[0]) - 1
    high = q[4] + 0.5 * (q[4] - q[3])
    at = np.concatenate([[low], q, [high + 1e-9]])
    level = np.concatenate([[0.0], LEVELS, [1.0]])
    on = first.toordinal() + np.arange(days, dtype=float)
    if span.q05 == span.q95:
        return np.asarray((on >= q[2]).astype(float))
    keep = np.concatenate([np.diff(at) > 0, [True]])
    return np.asarray(np.interp(on, at[keep], level[keep], left=0.0, right=1.0))


def present(stay: Stay, first: date, days: int) -> Floats:
    """Chance that the clutch takes a place on each day, [days]."""
    here = by_day(stay.comes, first, days) - by_day(stay.leaves, first, days)
    return np.asarray(stay.chance * np.maximum(here, 0.0), float)


def occupancy(stays: Sequence[Stay], first: date, days: int) -> Floats:
    """Chance of each number of places taken on each day, [days, clutches + 1]. Cost: days x clutches
    squared.
    """
    p = np.zeros((days, len(stays) + 1))
    p[:, 0] = 1.0
    for k, stay in enumerate(stays):
        here = present(stay, first, days)[:, None]
        p[:, 1 : k + 2] = p[:, 1 : k + 2] * (1 - here) + p[:, : k + 1] * here
        p[:, :1] *= 1 - here
    return p


def chance_of_more(p: Floats, places: int) -> Floats:
    """Chance on each day that more places are needed than there are."""
    return np.asarray(p[:, places + 1 :].sum(axis=1), float)


def quantiles(p: Floats, level: float) -> NDArray[np.intp]:
    """Places taken on each day at a level."""
    return np.asarray((np.cumsum(p, axis=1) < level - 1e-12).sum(axis=1))
