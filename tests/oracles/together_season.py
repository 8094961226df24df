"""Slow twins of `cycle.marginal` and `cycle.together`: cell by cell, by differences, and by search."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.optimize import minimize
from scipy.stats import norm

from eggtooth.engine.cycle.evidence import Evidence, log_likelihood
from eggtooth.engine.cycle.grid import Fate, Grid
from eggtooth.engine.cycle.marginal import GROWTH, TRAITS, UNITS
from eggtooth.engine.cycle.milestones import backward, sightings_of, waits_of
from eggtooth.engine.cycle.prior import FAST, PRIOR, SLOW, TURN
from eggtooth.engine.cycle.smoothing import exit_shares, fates, ovulation_days

Own = dict[str, tuple[float, float]]


def moved_by(at: np.ndarray, within: np.ndarray) -> Own:
    """Centre and spread of each trait when it is moved by `at[k]` units and its log spread by `at[4 + k]`."""
    return {
        name: (getattr(PRIOR, name).mean + at[k] * UNITS[k], float(within[k] * np.exp(at[TRAITS + k])))
        for k, name in enumerate(GROWTH)
    }


def seen_by_cell(e: Evidence, grid: Grid) -> np.ndarray:
    """Likelihood of all that was noted by class and start, (C, S), one cell at a time."""
    back = backward(sightings_of([e], PRIOR), waits_of(PRIOR)).ovulation[0]
    ovulates = ovulation_days(grid.shape, PRIOR.ovulation_sd)
    steps = len(ovulates) // len(grid.shape.fast_z)
    noted = any(day is not None for day in (e.ovulation, e.shed, e.laid))
    found = np.ones((len(grid.fate), len(grid.starts)))
    for c, fate in enumerate(grid.fate):
        for s in range(len(grid.starts)):
            for seen in e.follicles:
                bins = grid.appetite_on(seen.day) if seen.what[0] == "meal" else grid.bins_on(seen.day)
                found[c, s] *= np.exp(log_likelihood(seen.what)[bins[c, s]])
            if fate == Fate.LAYS:
                found[c, s] *= back @ ovulates[grid.levels[c, 2] * steps + grid.reach_ovulation[c] + s]
            elif noted:
                found[c, s] = 0
    return found


def weighed(e: Evidence, seen: np.ndarray, grid: Grid, own: Own) -> float:
    """Log likelihood of one season: every class by its fate, exit and levels, every start by its share."""
    shape = grid.shape
    by_start = nearest(grid.starts.astype(float), own["starts"])
    slow = nearest(SLOW.mean + SLOW.sd * np.array(shape.slow_z), own["slow"])
    fading = nearest(SLOW.mean + SLOW.sd * np.array(shape.fading_z), own["slow"])
    turn = nearest(TURN.mean + TURN.sd * np.array(shape.turn_z), own["turn"])
    fast = nearest(FAST.mean + FAST.sd * np.array(shape.fast_z), own["fast"])
    whole = 0.0
    for c, fate in enumerate(grid.fate):
        prior = fates(e, PRIOR)[fate] * exit_shares(shape)[c]
        i, j, k = grid.levels[c]
        if fate == Fate.LAYS:
            prior *= slow[i] * turn[j] * fast[k]
        elif fate != Fate.NEVER:
            prior *= fading[i]
        whole += prior * float(seen[c] @ by_start)
    return float(np.log(whole))


def nearest(at: np.ndarray, own: tuple[float, float]) -> np.ndarray:
    """Share of a normal spread nearest to each level."""
    edges = [-np.inf, *((at[1:] + at[:-1]) / 2), np.inf]
    return np.diff(norm.cdf(edges, *own))


def slope_of(f: Callable[[np.ndarray], float], at: np.ndarray, step: float = 1e-3) -> np.ndarray:
    """First derivatives by central differences."""
    return np.array([(f(at + d) - f(at - d)) / 2 / step for d in step * np.eye(len(at))])


def bend_of(f: Callable[[np.ndarray], float], at: np.ndarray, step: float = 1e-3) -> np.ndarray:
    """Second derivatives by central differences of differences."""
    return np.array(
        [slope_of(lambda x, d=d: (f(x + d) - f(x - d)) / 2 / step, at) for d in step * np.eye(len(at))]
    )


def peak_of(f: Callable[[np.ndarray], float]) -> np.ndarray:
    """Where a function of eight is largest, by a search that needs no derivatives of ours."""
    found = minimize(lambda x: -f(x), np.zeros(2 * TRAITS), method="BFGS", options={"gtol": 1e-6})
    return np.asarray(found.x)
