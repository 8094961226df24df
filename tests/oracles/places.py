"""A slow twin of the count of places: every combination of clutches present or not, one by one."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from math import prod


def occupancy_of_a_day(here: Sequence[float]) -> list[float]:
    """Chance of each number present, summed over all 2^n combinations."""
    p = [0.0] * (len(here) + 1)
    for which in product((False, True), repeat=len(here)):
        p[sum(which)] += prod(h if w else 1 - h for h, w in zip(here, which, strict=True))
    return p
