"""Places in the incubators over a season: how many clutches lie there on each day, and the chance of
running out.

Each clutch, here or to come, takes one place from the day it is laid until it has hatched. Clutches are
taken as independent, so the number on a day is Poisson-binomial, found exactly.
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


GROUP = 64
"""Clutches added one after another before polynomials are quicker."""


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
    """Chance of each number of places taken on each day, [days, clutches + 1].

    Clutches are added one after another in groups of up to `GROUP`, the groups then two by two as
    polynomials by the fast Fourier transform, right to about 1e-15. Cost: days x clutches x log squared.
    """
    groups = 1 << max(0, len(stays) - 1).bit_length() if len(stays) > GROUP else 1
    groups = max(1, groups // GROUP)
    each = -(-len(stays) // groups)
    here = np.zeros((groups * each, days))
    for k, stay in enumerate(stays):
        here[k] = present(stay, first, days)
    p = _one_after_another(here.reshape(groups, each, days))
    while len(p) > 1:
        p = _both(p[::2], p[1::2])
    return p[0, :, : len(stays) + 1]


def _one_after_another(here: Floats) -> Floats:
    """Numbers taken, [groups, days, each + 1], from the chances of each, [groups, each, days]."""
    groups, each, days = here.shape
    p = np.zeros((groups, days, each + 1))
    p[..., 0] = 1.0
    for k in range(each):
        now = here[:, k, :, None]
        p[..., 1 : k + 2] = p[..., 1 : k + 2] * (1 - now) + p[..., : k + 1] * now
        p[..., :1] *= 1 - now
    return p


def _both(a: Floats, b: Floats) -> Floats:
    """Numbers taken by two groups together."""
    size = a.shape[-1] + b.shape[-1] - 1
    whole = 1 << (size - 1).bit_length()
    product = np.fft.irfft(np.fft.rfft(a, whole) * np.fft.rfft(b, whole), whole)
    return np.maximum(product[..., :size], 0.0)


def chance_of_more(p: Floats, places: int) -> Floats:
    """Chance on each day that more places are needed than there are."""
    return np.asarray(p[:, places + 1 :].sum(axis=1), float)


def quantiles(p: Floats, level: float) -> NDArray[np.intp]:
    """Places taken on each day at a level."""
    return np.asarray((np.cumsum(p, axis=1) < level - 1e-12).sum(axis=1))
