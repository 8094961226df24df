"""A slow twin of the growth smoother: one animal, its whole joint Gaussian written out and conditioned at
once.
"""

from __future__ import annotations

from statistics import median

import numpy as np
from numpy.typing import NDArray

from eggtooth.engine.condition.growth import BAD_SD, FAR_OFF, FAR_TRUST, ROUGHNESS, WANDER, Tracks
from eggtooth.engine.facts import biology

Array = NDArray[np.float64]


def joint_prior(tracks: Tracks, row: int) -> tuple[Array, Array]:
    """Mean and covariance of (l, e, c) at every step in a row: each written as a sum of independent
    noises.
    """
    steps = tracks.days.shape[1]
    efficiency, curvature = biology.GROWTH_EFFICIENCY.varies, biology.GROWTH_CURVATURE.varies
    width = 3 + 2 * steps
    sizes = np.zeros(width)
    sizes[:3] = tracks.start_var[row], efficiency.sd**2, curvature.sd**2
    log_mass, gain, bend = np.eye(width)[:3]
    means = [tracks.start[row], efficiency.mean, curvature.mean]
    weights, mean = [], []
    for k in range(steps):
        if k:
            log_mass = log_mass + tracks.gain[row, k] * gain + np.eye(width)[3 + 2 * k]
            gain = gain - tracks.grown[row, k] * bend + np.eye(width)[4 + 2 * k]
            means[0] += tracks.gain[row, k] * means[1] + tracks.drift[row, k]
            means[1] -= tracks.grown[row, k] * means[2]
            sizes[3 + 2 * k] = ROUGHNESS**2 * tracks.days[row, k] + tracks.jump[row, k]
            sizes[4 + 2 * k] = WANDER**2 * tracks.days[row, k]
        weights += [log_mass, gain, bend]
        mean += means
    made = np.array(weights)
    return np.array(mean), made @ np.diag(sizes) @ made.T


def conditioned(mean: Array, cov: Array, at: list[int], y: Array, noise: Array) -> tuple[Array, Array]:
    """A Gaussian given noisy readings of some of its coordinates."""
    if not at:
        return mean, cov
    cross = cov[:, at]
    gain = cross @ np.linalg.inv(cov[np.ix_(at, at)] + np.diag(noise))
    return mean + gain @ (y - mean[at]), cov - gain @ cross.T


def first_trust(reading: Array, k: int) -> float:
    """Trust to begin with, from the median of the readings at the five steps around."""
    around = [y for y in reading[max(0, k - 2) : k + 3] if np.isfinite(y)]
    far = len(around) >= 3 and abs(reading[k] - median(around)) > FAR_OFF
    return FAR_TRUST if far else 1.0


def smooth_one(tracks: Tracks, row: int, sweeps: int) -> tuple[Array, Array, Array]:
    """Means and covariance of one animal's states after the sweeps, and the trust in its readings."""
    mean, cov = joint_prior(tracks, row)
    seen = [k for k in range(tracks.days.shape[1]) if np.isfinite(tracks.reading[row, k])]
    y = np.array([tracks.reading[row, k] - tracks.surplus[row, k] for k in seen])
    error = np.array([tracks.error[row, k] for k in seen])
    trust = np.array([first_trust(tracks.reading[row], k) for k in seen])
    share = biology.BAD_WEIGHING.value
    for _ in range(sweeps - 1):
        new = trust.copy()
        for i, k in enumerate(seen):
            rest = [j for j in range(len(seen)) if j != i]
            m, c = conditioned(mean, cov, [3 * seen[j] for j in rest], y[rest], error[rest] / trust[rest])
            good = (1 - share) * _normal(y[i], m[3 * k], c[3 * k, 3 * k] + error[i])
            bad = share * _normal(y[i], m[3 * k], c[3 * k, 3 * k] + BAD_SD**2)
            new[i] = good / (good + bad)
        trust = np.maximum(new, 1e-12)
    m, c = conditioned(mean, cov, [3 * k for k in seen], y, error / trust)
    return m, c, trust


def _normal(x: float, mean: float, var: float) -> float:
    return float(np.exp(-0.5 * (x - mean) ** 2 / var) / np.sqrt(var))
