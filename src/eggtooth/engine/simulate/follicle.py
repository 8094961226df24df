"""How a follicle grows in the invented world: a smooth acceleration, with no bend anywhere.

The rate at diameter d is  slow (fast / slow)^S((d - turn) / width) (1 - exp(-(d - rest) / 2)),
where S is the logistic function: it leaves rest imperceptibly, creeps, and gathers speed around the turn.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LEAVING_MM = 2.0
ABOVE_REST_MM: Floats = np.geomspace(0.05, 56.0, 300)
"""Diameters above rest at which elapsed time is tabulated."""

FADES_DAYS = 5.0
SHRINKS_DAYS = 18.0


def rate_mm_day(
    mm: Floats, slow: Floats, fast: Floats, turn_mm: Floats, width_mm: Floats, rest_mm: Floats
) -> Floats:
    """Growth in mm a day at a diameter (arrays broadcast): 0 at rest, `slow` below the turn, `fast` above."""
    turned = 1 / (1 + np.exp(-(mm - turn_mm) / width_mm))
    leaving = -np.expm1(-np.maximum(mm - rest_mm, 0) / LEAVING_MM)
    rate: Floats = np.exp(np.log(slow) + np.log(fast / slow) * turned) * leaving
    return rate


def elapsed_days(slow: Floats, fast: Floats, turn_mm: Floats, width_mm: Floats, rest_mm: Floats) -> Floats:
    """Days from leaving rest to each of `ABOVE_REST_MM`, shape (females, 300), by the trapezoid rule."""
    column = (slow[:, None], fast[:, None], turn_mm[:, None], width_mm[:, None], rest_mm[:, None])
    mm = rest_mm[:, None] + ABOVE_REST_MM
    slowness = 1 / rate_mm_day(mm, *column)
    steps = np.diff(ABOVE_REST_MM) * (slowness[:, 1:] + slowness[:, :-1]) / 2
    return np.concatenate([np.zeros((len(slow), 1)), np.cumsum(steps, axis=1)], axis=1)


def days_to(mm: Floats, elapsed: Floats, rest_mm: Floats) -> Floats:
    """Days from leaving rest to a diameter, one per female."""
    above = np.broadcast_to(mm, rest_mm.shape) - rest_mm
    return np.array([np.interp(a, ABOVE_REST_MM, row) for a, row in zip(above, elapsed, strict=True)])


def diameter_mm(days: Floats, elapsed: Floats, rest_mm: Floats, fails_at: Floats) -> Floats:
    """Diameter at days since leaving rest, shape (females, days); `fails_at` is when reabsorption sets in.

    From there on growth fades and the follicle shrinks back to rest, both without a jump in speed. NaN in
    `fails_at` means it does not fail.
    """
    late = np.where(np.isnan(fails_at[:, None]), 0.0, np.maximum(days - fails_at[:, None], 0.0))
    progress = days - late - FADES_DAYS * np.expm1(-late / FADES_DAYS)
    above = np.array(
        [np.interp(t, row, ABOVE_REST_MM, left=0.0) for t, row in zip(progress, elapsed, strict=True)]
    )
    shrunk: Floats = rest_mm[:, None] + above * np.exp(-((late / SHRINKS_DAYS) ** 2) / 2)
    return shrunk
