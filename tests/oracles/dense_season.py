"""Slow twins of the season's lattice: a hidden Markov chain with dense matrices, and a sum over all courses.

`dense` knows nothing of diagonals: its states are (class, days since 12 mm), its transition matrix moves each
state to the next day's cell of its class, and it runs the textbook forward–backward recursion day by day.
`all_courses` adds up every (class, start, ovulation, shed, eggs) one by one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence, log_likelihood
from eggtooth.engine.cycle.grid import Fate, Grid
from eggtooth.engine.cycle.milestones import DAYS, Sightings, Waits
from eggtooth.engine.cycle.smoothing import ODD_DAY, Weights

Floats = np.ndarray


@dataclass(frozen=True)
class Chain:
    """A hidden Markov chain: start (N,), transition (N, N), and likelihood by day, (T, N)."""

    start: Floats
    move: Floats
    likelihood: Floats
    cell: dict[tuple[int, int], int]


def chain_of(evidence: Evidence, grid: Grid, weights: Weights, days: int) -> Chain:
    """The chain of one female over season days 0 to `days` - 1."""
    first, last = -int(grid.starts[-1]), days - int(grid.starts[0])
    cell = {
        (c, u): i
        for i, (c, u) in enumerate((c, u) for c in range(len(grid.fate)) for u in range(first, last + 1))
    }
    start, move = np.zeros(len(cell)), np.zeros((len(cell), len(cell)))
    bins, hungry = np.zeros(len(cell), dtype=int), np.zeros(len(cell), dtype=int)
    for (c, u), i in cell.items():
        move[i, cell.get((c, u + 1), i)] = 1
        bins[i], hungry[i] = _bin(grid, c, u), _bin(grid, c, u, of_appetite=True)
        if -u in grid.starts:
            s = list(grid.starts).index(-u)
            start[i] = weights.fates[0, grid.fate[c]] * weights.classes[0, c] * weights.starts[0, s]
    likelihood = np.ones((days, len(cell)))
    for seen in evidence.follicles:
        likelihood[seen.day] *= np.exp(log_likelihood(seen.what)[hungry if seen.what[0] == "meal" else bins])
    return Chain(start, move, likelihood, cell)


def _bin(grid: Grid, c: int, u: int, of_appetite: bool = False) -> int:
    """Diameter bin of a class on a day since 12 mm, read from the grid one cell at a time."""
    backwards = grid.newest - u
    cells = grid.appetite if of_appetite else grid.binned
    return int(cells[backwards % grid.shape.step, c, backwards // grid.shape.step])


def dense(chain: Chain) -> tuple[Floats, float]:
    """Posterior of every state on every day, (T, N), and the log likelihood: the textbook recursion."""
    days = len(chain.likelihood)
    alpha, beta, scale = np.zeros_like(chain.likelihood), np.ones_like(chain.likelihood), np.zeros(days)
    for t in range(days):
        before = chain.start if t == 0 else alpha[t - 1] @ chain.move
        alpha[t] = before * chain.likelihood[t]
        scale[t] = alpha[t].sum()
        alpha[t] /= scale[t]
    for t in range(days - 2, -1, -1):
        beta[t] = chain.move @ (chain.likelihood[t + 1] * beta[t + 1]) / scale[t + 1]
    posterior = alpha * beta
    return posterior / posterior.sum(axis=1, keepdims=True), float(np.log(scale).sum())


@dataclass(frozen=True)
class Courses:
    """Sums over all courses: weight of each fate (4,), of each day of the three dates (DAYS,)."""

    fates: Floats
    ovulation: Floats
    shed: Floats
    laid: Floats


def all_courses(
    cells: Floats, grid: Grid, ovulates: Floats, seen: Sightings, waits: Waits, noted: bool, latest: int
) -> Courses:
    """Every course of one female's season. `cells` (C, S): weights after her follicles."""
    found = Courses(np.zeros(4), np.zeros(DAYS), np.zeros(DAYS), np.zeros(DAYS))
    wait = waits.lay_seen if seen.seen_shed[0] else waits.lay_unseen
    steps = ovulates.shape[0] // len(grid.shape.fast_z)
    by_day = np.zeros(DAYS)
    for c, fate in enumerate(grid.fate):
        for s, weight in enumerate(cells[c]):
            if fate == Fate.LAYS:
                row = grid.levels[c, 2] * steps + grid.reach_ovulation[c] + s
                by_day += weight * (ovulates[row] + ODD_DAY)
            elif not noted:
                found.fates[fate] += weight
    _lays(found, by_day * seen.ovulation[0], seen, waits.shed, wait, latest)
    return found


def _lays(
    found: Courses, by_day: Floats, seen: Sightings, shed_wait: Floats, lay_wait: Floats, latest: int
) -> None:
    for o in range(latest):
        if not by_day[o]:
            continue
        for h in range(o, min(o + 91, DAYS)):
            upto = by_day[o] * shed_wait[h - o] * seen.shed[0, h]
            last = min(h + 91, DAYS)
            course = upto * lay_wait[: last - h] * seen.laid[0, h:last]
            found.fates[Fate.LAYS] += course.sum()
            found.ovulation[o] += course.sum()
            found.shed[h] += course.sum()
            found.laid[h:last] += course


def sum_to_one(weights: Floats) -> Floats:
    """Weights as chances."""
    return np.asarray(weights / weights.sum())
