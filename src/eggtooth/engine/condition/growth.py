"""Growth on log mass: a linear state-space model over all animals at once, with bad weighings set aside.

The state of an animal is x = (l, e, c): its log mass (log grams), its growth efficiency (grams gained per
gram eaten, while small) and its curvature (efficiency lost per unit of log mass gained, beyond the usual).
Over a gap of d days in which it ate, relative to its mass and to what a gram is worth at that mass, the sum
u, grew by about g in log mass, and changed by the known amount k (upkeep, a clutch laid):

    l' = l + u e + k + N(0, ROUGHNESS^2 d + jump),      e' = e - g c + N(0, WANDER^2 d),      c' = c

A weighing reads l + gut content + error. The error is N(0, s^2), or N(0, BAD_SD^2) for the share of weighings
that are wrong altogether; how far a weighing is trusted is its chance of being a good one given all other
weighings, before and after it, found by repeated sweeps of a Kalman filter and a Rauch-Tung-Striebel
smoother.

Reference: Rauch, Tung & Striebel 1965, AIAA Journal 3:1445-1450.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from eggtooth.engine.facts import biology
from eggtooth.engine.facts.fact import Normal

Floats = NDArray[np.floating[Any]]

ROUGHNESS = 0.0022
"""Day-to-day wander of log mass, per square root of a day (our choice: 1.2 % in a month)."""
WANDER = 0.0035
"""Wander of the efficiency, per square root of a day (our choice: 0.07 in a year)."""
BAD_SD = 0.7
SWEEPS = 6
FAR_OFF, FAR_TRUST = 0.5, 1e-3


@dataclass(frozen=True, slots=True)
class Tracks:
    """What is known of each animal, step by step. Arrays are [animals, steps]; rows are padded with steps
    of 0 days.

    `days` since the step before, `gain` the sum u, `grown` the sum g, `drift` the sum k, `jump` variance
    added, `reading` observed log mass (NaN: none), `surplus` what gut content is expected to add, `error`
    variance of a good reading. `start` and `start_var` are the prior of the log mass at step 0, [animals].
    """

    days: Floats
    gain: Floats
    grown: Floats
    drift: Floats
    jump: Floats
    reading: Floats
    surplus: Floats
    error: Floats
    start: Floats
    start_var: Floats


@dataclass(frozen=True, slots=True)
class Belief:
    """Gaussian belief about (log mass, efficiency, curvature): `mean` [..., 3] and `cov` [..., 3, 3]."""

    mean: Floats
    cov: Floats

    @property
    def log_mass(self) -> Floats:
        """Expected log mass, [...]."""
        return np.asarray(self.mean[..., 0], float)

    @property
    def sd(self) -> Floats:
        """Standard deviation of the log mass, [...]."""
        return np.asarray(np.sqrt(self.cov[..., 0, 0]), float)

    @property
    def efficiency(self) -> Floats:
        """Expected growth efficiency, [...]."""
        return np.asarray(self.mean[..., 1], float)


@dataclass(frozen=True, slots=True)
class Smoothed:
    """Belief at every step given all readings, [animals, steps], and the trust in each reading (0 to 1)."""

    belief: Belief
    trust: Floats

    @property
    def now(self) -> Belief:
        """Belief at the last step, [animals]."""
        return Belief(self.belief.mean[:, -1], self.belief.cov[:, -1])


def prior(tracks: Tracks) -> Belief:
    """Belief at step 0 before any reading, [animals]."""
    efficiency, curvature = biology.GROWTH_EFFICIENCY.varies, biology.GROWTH_CURVATURE.varies
    assert isinstance(efficiency, Normal) and isinstance(curvature, Normal)
    mean = np.empty((len(tracks.start), 3))
    mean[:, 0], mean[:, 1], mean[:, 2] = tracks.start, efficiency.mean, curvature.mean
    cov = np.zeros((len(tracks.start), 3, 3))
    cov[:, 0, 0], cov[:, 1, 1], cov[:, 2, 2] = tracks.start_var, efficiency.sd**2, curvature.sd**2
    return Belief(mean, cov)


def smooth(tracks: Tracks, sweeps: int = SWEEPS) -> Smoothed:
    """Belief about every animal at every step. Cost: sweeps x steps x a few dozen operations on [animals]."""
    seen = np.isfinite(tracks.reading)
    trust = at_first(tracks)
    for _ in range(sweeps - 1):
        trust = np.where(seen, _trust(tracks, both_ways(tracks, trust), trust), 0.0)
    return Smoothed(both_ways(tracks, trust), trust)


def at_first(tracks: Tracks) -> Floats:
    """Trust to begin with: 1, and `FAR_TRUST` for a reading far from the median of the five steps around it.

    Without it one reading of another order, as by a digit lost, could drag the others apart.
    """
    steps = tracks.reading.shape[1]
    trust = np.where(np.isfinite(tracks.reading), 1.0, 0.0)
    for k in range(steps):
        around = np.sort(tracks.reading[:, max(0, k - 2) : k + 3], axis=1)  # NaN sort last
        known = np.isfinite(around).sum(axis=1)
        low, high = np.maximum(known - 1, 0) // 2, known // 2
        middle = (_pick(around, low) + _pick(around, np.minimum(high, np.maximum(known - 1, 0)))) / 2
        far = (known >= 3) & (np.abs(tracks.reading[:, k] - middle) > FAR_OFF)
        trust[far, k] = FAR_TRUST
    return trust


def _pick(rows: Floats, column: NDArray[np.intp]) -> Floats:
    return np.asarray(np.take_along_axis(rows, column[:, None], axis=1)[:, 0], float)


def _trust(tracks: Tracks, belief: Belief, trust: Floats) -> Floats:
    """Chance that each reading is a good one, given the others: its own weight is first taken out again."""
    own = trust / tracks.error
    y = np.nan_to_num(tracks.reading - tracks.surplus)
    now = 1 / belief.cov[..., 0, 0]
    var = 1 / np.maximum(now - own, 1e-9)
    mean = var * (belief.log_mass * now - own * y)
    share = biology.BAD_WEIGHING.value
    good = (1 - share) * _density(y - mean, var + tracks.error)
    bad = share * _density(y - mean, var + BAD_SD**2)
    return np.asarray(good / (good + bad), float)


def _density(off: Floats, var: Floats) -> Floats:
    return np.asarray(np.exp(-0.5 * off * off / var) / np.sqrt(var) + 1e-300, float)


def both_ways(tracks: Tracks, trust: Floats) -> Belief:
    """Kalman filter forwards, Rauch-Tung-Striebel smoother backwards, readings weighted by `trust`."""
    step, known, noise = _dynamics(tracks)
    y = np.nan_to_num(tracks.reading - tracks.surplus)
    now = prior(tracks)
    filtered, predicted = [], []
    for k in range(tracks.days.shape[1]):
        if k:
            now = ahead(now, step[:, k], known[:, k], noise[:, k])
        predicted.append(now)
        now = _weighed(now, y[:, k], tracks.error[:, k], trust[:, k])
        filtered.append(now)
    out = [now]
    for k in range(len(filtered) - 2, -1, -1):
        out.append(_step_back(filtered[k], predicted[k + 1], out[-1], step[:, k + 1]))
    out.reverse()
    return Belief(np.stack([b.mean for b in out], axis=1), np.stack([b.cov for b in out], axis=1))


def _dynamics(tracks: Tracks) -> tuple[Floats, Floats, Floats]:
    """Per step: the matrix of the change, the known change and the noise, [animals, steps, 3(, 3)]."""
    shape = tracks.days.shape
    step = np.broadcast_to(np.eye(3), (*shape, 3, 3)).copy()
    step[..., 0, 1], step[..., 1, 2] = tracks.gain, -tracks.grown
    known, noise = np.zeros((*shape, 3)), np.zeros((*shape, 3, 3))
    known[..., 0] = tracks.drift
    noise[..., 0, 0] = ROUGHNESS**2 * tracks.days + tracks.jump
    noise[..., 1, 1] = WANDER**2 * tracks.days
    return step, known, noise


def ahead(now: Belief, step: Floats, known: Floats, noise: Floats) -> Belief:
    """The belief one step on: x' = step x + known + N(0, noise)."""
    mean = (step @ now.mean[..., None])[..., 0] + known
    return Belief(mean, step @ now.cov @ np.swapaxes(step, -1, -2) + noise)


def _weighed(now: Belief, y: Floats, error: Floats, trust: Floats) -> Belief:
    """The belief after a reading of l; a trust of 0 leaves it as it was."""
    column = now.cov[..., 0]
    weight = trust / (trust * now.cov[..., 0, 0] + error)
    mean = now.mean + column * (weight * (y - now.mean[..., 0]))[..., None]
    return Belief(mean, now.cov - column[..., :, None] * column[..., None, :] * weight[..., None, None])


def _step_back(now: Belief, predicted: Belief, later: Belief, step: Floats) -> Belief:
    """One smoother step: G = P F' Pp^-1, then x + G (xs - xp) and P + G (Ps - Pp) G'."""
    back = np.swapaxes(np.linalg.solve(predicted.cov, step @ now.cov), -1, -2)
    mean = now.mean + (back @ (later.mean - predicted.mean)[..., None])[..., 0]
    return Belief(mean, now.cov + back @ (later.cov - predicted.cov) @ np.swapaxes(back, -1, -2))
