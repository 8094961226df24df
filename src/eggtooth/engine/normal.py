"""The normal distribution function over arrays, without loading scipy (the round must start quickly)."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
FAR = 8.5


@lru_cache(maxsize=1)
def _table() -> tuple[Floats, Floats]:
    at = np.linspace(-FAR, FAR, 17_001)
    return at, np.array([0.5 * math.erfc(-x / math.sqrt(2)) for x in at.tolist()])


def cdf(x: ArrayLike) -> Floats:
    """Share of the standard normal distribution below each value; exact to 3e-8, any shape."""
    at, share = _table()
    found: Floats = np.interp(np.asarray(x, dtype=np.float64), at, share, left=0.0, right=1.0)
    return found
