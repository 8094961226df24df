"""Figures again, had other houses been drawn: intervals by drawing the houses anew, with replacement.

Females of one house and year share its start and its warmth, and one female is forecast in several settings,
so it is the houses that are drawn.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

Interval = tuple[float, float]
TIMES = 2000


def ratio_90(above: np.ndarray, below: np.ndarray, house: Sequence[int]) -> Interval:
    """90 % interval of a ratio of sums; of a mean where `below` is ones."""
    _, at = np.unique(np.array(house), return_inverse=True)
    sums = np.stack([np.bincount(at, weights=x) for x in (above, below)])
    drawn = np.random.default_rng(1).integers(sums.shape[1], size=(TIMES, sums.shape[1]))
    again = sums[:, drawn].sum(axis=2)
    low, high = np.quantile(again[0][again[1] > 0] / again[1][again[1] > 0], (0.05, 0.95))
    return float(low), float(high)


def reliability(
    chance: Sequence[float], laid: Sequence[bool], house: Sequence[int]
) -> tuple[float, list[tuple[float, float, Interval, int]]]:
    """Mean distance of chance and outcome over tenths of the chances, and the tenths: mean chance said, share
    that came, its 90 % interval, how many."""
    p, y, of_house = np.array(chance), np.array(laid, dtype=float), np.array(house)
    of = np.minimum((p * 10).astype(int), 9)
    rows = []
    for k in np.unique(of):
        here = of == k
        between = ratio_90(y[here], np.ones(int(here.sum())), of_house[here].tolist())
        rows.append((float(p[here].mean()), float(y[here].mean()), between, int(here.sum())))
    return sum(abs(a - b) * n for a, b, _, n in rows) / len(p), rows
