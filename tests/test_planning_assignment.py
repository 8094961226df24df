"""The exact assignment against scipy (Crouse 2016, IEEE Trans. Aerosp. 52:1679), and its own bound."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from eggtooth.engine.planning.assignment import HOME, NO_PAIR, Assignment


def by_scipy(gain: np.ndarray) -> float:
    """Staying home is worth zero, so a loss is as good as zero."""
    worth = np.maximum(gain, 0)
    rows, columns = linear_sum_assignment(worth, maximize=True)
    return float(worth[rows, columns].sum())


def random_gains(rng: np.random.Generator, kind: int) -> np.ndarray:
    n, m = rng.integers(0, 12, 2)
    gain = rng.normal(0.3, 1, (n, m))
    if kind % 3 == 1:
        gain = np.round(gain * 2)
    if kind % 3 == 2:
        gain = np.round(1e6 * np.outer(0.3 + rng.random(n), rng.random(m)) + 1e5 * rng.random(m))
    gain[rng.random((n, m)) < rng.choice([0, 0.2, 0.7])] = NO_PAIR
    return gain


def check(found: Assignment, gain: np.ndarray) -> None:
    taken = [j for j in found.choice if j != HOME]
    assert len(taken) == len(set(taken))
    assert found.total == pytest.approx(by_scipy(gain), rel=1e-9, abs=1e-9)
    assert found.bound() == pytest.approx(found.total, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("seed", range(150))
def test_equals_scipy_and_certifies_itself(seed: int) -> None:
    rng = np.random.default_rng(seed)
    gain = random_gains(rng, seed)
    found = Assignment(gain)
    check(found, gain)
    for _ in range(4 if gain.size else 0):
        i, j = int(rng.integers(gain.shape[0])), int(rng.integers(gain.shape[1]))
        gain[i, j] = NO_PAIR
        found.forbid(i, j)
        check(found, gain)


def test_nobody_goes_at_a_loss() -> None:
    assert Assignment(np.array([[-1.0, NO_PAIR]])).choice.tolist() == [HOME]


@pytest.mark.parametrize("gain", [np.array([[np.nan]]), np.array([[np.inf]]), np.array([1.0])])
def test_no_matrix_of_gains_is_refused(gain: np.ndarray) -> None:
    with pytest.raises(ValueError, match="gains must be"):
        Assignment(gain)
