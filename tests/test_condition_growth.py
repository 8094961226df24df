"""The growth smoother against a dense Gaussian twin and a general-purpose optimiser, and on bad weighings."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from eggtooth.engine.condition.growth import ROUGHNESS, WANDER, Tracks, both_ways, smooth
from eggtooth.engine.facts import biology
from tests.oracles.growth import smooth_one


def random_tracks(rng: np.random.Generator, animals: int = 4, steps: int = 9, bad: float = 0.15) -> Tracks:
    """Tracks with gaps, full bellies, a clutch here and there and some readings far off."""
    shape = (animals, steps)
    days = rng.integers(1, 60, shape).astype(float)
    days[:, 0] = 0
    gain = days * rng.uniform(0, 0.015, shape)
    grown = np.maximum(0.345 * gain - 0.0011 * days, 0)
    drift = -0.0011 * days + np.where(rng.random(shape) < 0.1, np.log(0.67), 0.0)
    drift[:, 0] = 0
    level = np.log(200) + np.cumsum(0.36 * gain + drift, axis=1)
    reading = level + 0.03 * rng.standard_normal(shape)
    reading += np.where(rng.random(shape) < bad, rng.normal(0, 0.7, shape), 0)
    reading[rng.random(shape) < 0.2] = np.nan
    surplus, jump = rng.uniform(0, 0.05, shape), rng.uniform(0, 0.002, shape)
    error = rng.uniform(0.0003, 0.001, shape)
    return Tracks(
        days, gain, grown, drift, jump, reading, surplus, error, level[:, 0] + 0.1, np.full(animals, 0.04)
    )


@pytest.mark.parametrize("seed", range(12))
def test_equals_the_joint_gaussian_conditioned_at_once(seed: int) -> None:
    tracks = random_tracks(np.random.default_rng(seed))
    fast = smooth(tracks, sweeps=4)
    for row in range(4):
        mean, cov, trust = smooth_one(tracks, row, sweeps=4)
        np.testing.assert_allclose(fast.belief.mean[row].ravel(), mean, atol=1e-6)
        for k in range(9):
            block = cov[3 * k : 3 * k + 3, 3 * k : 3 * k + 3]
            np.testing.assert_allclose(fast.belief.cov[row, k], block, atol=1e-8)
        seen = np.isfinite(tracks.reading[row])
        np.testing.assert_allclose(fast.trust[row][seen], trust, atol=1e-5)


def test_equals_the_least_squares_fit_found_by_scipy() -> None:
    """With every reading trusted the smoothed means are the least squares path; scipy's BFGS finds it too."""
    tracks = random_tracks(np.random.default_rng(5), animals=1, bad=0)
    belief = both_ways(tracks, np.where(np.isfinite(tracks.reading), 1.0, 0.0))
    seen = np.isfinite(tracks.reading[0])
    spread, bend = biology.GROWTH_EFFICIENCY.varies, biology.GROWTH_CURVATURE.varies

    def misfit(path: np.ndarray) -> float:
        log_mass, efficiency = path[:-1].reshape(2, -1)
        curvature = path[-1]
        step = log_mass[1:] - log_mass[:-1] - tracks.gain[0, 1:] * efficiency[:-1] - tracks.drift[0, 1:]
        turn = efficiency[1:] - efficiency[:-1] + tracks.grown[0, 1:] * curvature
        total = (log_mass[0] - tracks.start[0]) ** 2 / tracks.start_var[0]
        total += (efficiency[0] - spread.mean) ** 2 / spread.sd**2 + (curvature - bend.mean) ** 2 / bend.sd**2
        total += np.sum(step**2 / (ROUGHNESS**2 * tracks.days[0, 1:] + tracks.jump[0, 1:]))
        total += np.sum(turn**2 / (WANDER**2 * tracks.days[0, 1:]))
        off = (tracks.reading - tracks.surplus)[0] - log_mass
        return float(total + np.sum(off[seen] ** 2 / tracks.error[0][seen]))

    ours = np.append(belief.mean[0, :, :2].T.ravel(), belief.mean[0, -1, 2])
    found = minimize(misfit, ours + 0.02, method="BFGS", options={"gtol": 1e-4, "maxiter": 3000})
    assert misfit(ours) <= found.fun + 1e-6
    np.testing.assert_allclose(found.x, ours, atol=2e-3)


def test_one_bad_weighing_is_set_aside_wherever_it_stands() -> None:
    for at in range(1, 8):
        tracks = random_tracks(np.random.default_rng(1), animals=1, steps=8, bad=0)
        plain = smooth(tracks)
        if np.isnan(tracks.reading[0, at]):
            continue
        tracks.reading[0, at] += 1.5
        odd = smooth(tracks)
        assert odd.trust[0, at] < 0.01 < 0.5 < plain.trust[0, at]
        assert abs(odd.belief.log_mass[0, at] - plain.belief.log_mass[0, at]) < 0.12


def test_no_reading_leaves_the_prior() -> None:
    nothing = np.zeros((1, 2))
    tracks = Tracks(
        nothing,
        nothing,
        nothing,
        nothing,
        nothing,
        nothing + np.nan,
        nothing,
        nothing + 1,
        np.array([6.0]),
        np.array([0.2]),
    )
    belief = smooth(tracks).belief
    np.testing.assert_allclose(belief.log_mass, 6.0)
    np.testing.assert_allclose(belief.sd**2, 0.2)
