"""A night planned anew for 300 males and 800 females, against plain greedy and scipy's general solver.

Greedy takes the pair that gains most, again and again; scipy's `linear_sum_assignment` finds the same best as
ours, but loading it takes longer than the round.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from typing import TypeVar

import numpy as np

from eggtooth.engine.house import Settings
from eggtooth.engine.planning.fertile import Prospects
from eggtooth.engine.planning.ovulating import MIDDLES
from eggtooth.engine.planning.rotation import UNIT, Night, choose, gains
from eggtooth.engine.planning.wanted import ALL_ALIKE, Wanted

T = TypeVar("T")
MALES, FEMALES = 300, 800


def main() -> bool:
    """Print times and gains; true (a miss) if a night takes two seconds or greedy gains as much."""
    missed = False
    for name, wanted in (("no plan", ALL_ALIKE), ("a plan", planned()), ("every pair valued", valued())):
        night = night_of(wanted)
        spent, chosen = timed(lambda n=night: choose(n, lambda m, f: ""))
        table = np.maximum(np.rint(gains(night) * UNIT), 0) / UNIT
        mine = sum(table[night.males.index(m), night.females.index(f)] for m, f in chosen.items())
        greedy_s, greedy_gain = timed(lambda t=table: greedy(t))
        scipy_s, scipy_gain = timed(lambda t=table: by_scipy(t))
        print(f"{name}: {spent:.2f} s of processor for a gain of {mine:.3f}")
        print(f"  plain greedy: {greedy_s:.2f} s, {greedy_gain / mine:.3f} of the gain")
        print(f"  scipy's solver alone: {scipy_s:.2f} s, {scipy_gain / mine:.6f} of the gain")
        missed |= spent >= 2 or greedy_gain > mine + 1e-6
    print(f"loading scipy.optimize: {loading():.2f} s")
    return missed


def night_of(wanted: Wanted) -> Night:
    """One night of an invented house of this size."""
    rng = np.random.default_rng(1)
    shape = (FEMALES, len(MIDDLES))
    found = Prospects(
        np.zeros(shape), rng.uniform(0.3, 0.9, FEMALES), (rng.random(FEMALES) < 0.2).astype(float),
        np.ones(shape), np.zeros(shape), np.zeros(shape),
    )  # fmt: skip
    centres = rng.uniform(0, 200, FEMALES)
    found.ovulates[:] = np.exp(-(((MIDDLES - centres[:, None]) / 20) ** 2) / 2)
    found.ovulates /= found.ovulates.sum(axis=1, keepdims=True)
    for i in range(FEMALES):
        for _ in range(rng.integers(6)):
            found.add_seen(i, float(rng.integers(60)), 1.0, 1.0)
    males, females = [f"M{i}" for i in range(MALES)], [f"F{i}" for i in range(FEMALES)]
    nights_in = rng.integers(0, 50, MALES).tolist()
    known = {(f"M{rng.integers(MALES)}", f"F{i}"): 5e-4 for i in range(FEMALES)}
    return Night(males, nights_in, females, found, wanted, Settings(), known=known)


def planned() -> Wanted:
    """Each female has a first and a spare."""
    rng = np.random.default_rng(2)
    pairs = {(f"M{rng.integers(MALES)}", f"F{i}"): float(rng.uniform(0.5, 3)) for i in range(FEMALES)}
    spares = {(f"M{rng.integers(MALES)}", f"F{i}"): 0.3 for i in range(FEMALES)}
    return Wanted({**spares, **pairs})


def valued() -> Wanted:
    """Every pair has a worth of its own."""
    worth = np.random.default_rng(3).uniform(0.1, 3, (MALES, FEMALES))
    return Wanted({(f"M{i}", f"F{j}"): float(worth[i, j]) for i, j in np.ndindex(*worth.shape)})


def greedy(table: np.ndarray) -> float:
    """The pair that gains most first."""
    left, total = table.copy(), 0.0
    while (best := left.max()) > 0:
        i, j = np.unravel_index(left.argmax(), left.shape)
        total += float(best)
        left[i, :] = left[:, j] = 0
    return total


def by_scipy(table: np.ndarray) -> float:
    """The same best by a general solver."""
    from scipy.optimize import linear_sum_assignment

    rows, columns = linear_sum_assignment(table, maximize=True)
    return float(table[rows, columns].sum())


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Seconds of processor and what came out; the second of two runs, so that loading does not count."""
    work()
    start = time.process_time()
    found = work()
    return time.process_time() - start, found


def loading() -> float:
    """Seconds that importing scipy's solver adds to a start."""

    def start(what: str) -> float:
        begun = time.perf_counter()
        subprocess.run([sys.executable, "-c", f"import {what}"], check=True)
        return time.perf_counter() - begun

    start("scipy.optimize")
    return start("scipy.optimize") - start("numpy")


if __name__ == "__main__":
    sys.exit(main())
