"""Uncertainty of a yes-or-no question in bits: Shannon's entropy (Shannon 1948, Bell Syst. Tech. J. 27)."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def bits(joint: NDArray[np.float64]) -> float:
    """Expected entropy of the question once the outcome is known; `joint` [outcomes, 2] sums to 1."""
    import numpy as np

    total = joint.sum(axis=1, keepdims=True)
    p = np.divide(joint, total, out=np.zeros_like(joint), where=total > 0)
    logs = np.log2(p, out=np.zeros_like(p), where=p > 0)
    return float(-(joint * logs).sum())
