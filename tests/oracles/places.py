"""Slow twins of the count of places: every combination of clutches, and seasons drawn by chance."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from math import prod

import numpy as np
from numpy.typing import NDArray


def occupancy_of_a_day(here: Sequence[float]) -> list[float]:
    """Chance of each number present, summed over all 2^n combinations."""
    p = [0.0] * (len(here) + 1)
    for which in product((False, True), repeat=len(here)):
        p[sum(which)] += prod(h if w else 1 - h for h, w in zip(here, which, strict=True))
    return p


def seasons_drawn(
    rng: np.random.Generator,
    females: Sequence[tuple[float, Sequence[float]]],
    stay: tuple[float, float],
    days: int,
    draws: int,
) -> NDArray[np.int_]:
    """Clutches lying on each day of each drawn season, [draws, days].

    `females`: the chance that each lays and the 5, 25, 50, 75 and 95 % days of it, straight lines between
    them and tails half as long again beyond; `stay`: mean and deviation of the days a clutch lies.
    """
    lying = np.zeros((draws, days), dtype=int)
    for chance, q in females:
        ends = (q[0] - 0.5 * (q[1] - q[0]), *q, q[4] + 0.5 * (q[4] - q[3]))
        for season in lying:
            if rng.random() < chance:
                laid = int(np.ceil(np.interp(rng.random(), (0, 0.05, 0.25, 0.5, 0.75, 0.95, 1), ends)))
                gone = laid + round(rng.normal(*stay))
                season[max(0, laid) : max(0, gone)] += 1
    return lying
