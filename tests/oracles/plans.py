"""Plans by trying everything, and by always taking the best pair: slow, obvious twins of the planner.

Numbers come as plain lists: `effect[w][i][j]`, `room[i]`, goals as (weight, count). Knows nothing of the
engine.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

Effect = Sequence[Sequence[Sequence[float]]]
Goals = Sequence[tuple[float, int]]
Firsts = dict[int, int]


def share(mean: float, count: int) -> float:
    """E[min(N, count)] / count of a Poisson count, term by term."""
    total, p = 0.0, math.exp(-mean)
    left = 1.0
    for k in range(count):
        total += k * p
        left -= p
        p *= mean / (k + 1)
    return (total + count * max(0.0, left)) / count


def worth(effect: Effect, goals: Goals, firsts: Firsts, cost: float = 0.0) -> float:
    """What a choice is worth, from the definition."""
    total = -cost * len(firsts)
    for w, (weight, count) in enumerate(goals):
        total += weight * share(sum(effect[w][i][j] for j, i in firsts.items()), count)
    return total


def choices(may: Sequence[Sequence[bool]], room: Sequence[int]) -> Iterator[Firsts]:
    """Every choice of one male or none for each female that the males have room for."""
    males, females = range(len(may)), range(len(may[0]) if may else 0)
    options = [[-1, *(i for i in males if may[i][j])] for j in females]
    for picked in itertools.product(*options):
        if all(picked.count(i) <= room[i] for i in males):
            yield {j: i for j, i in enumerate(picked) if i >= 0}


def best(
    effect: Effect,
    goals: Goals,
    may: Sequence[Sequence[bool]],
    room: Sequence[int],
    cost: float = 0.0,
    pins: Firsts | None = None,
) -> float:
    """The most any choice that keeps the pins is worth."""
    kept = (pins or {}).items()
    return max(worth(effect, goals, f, cost) for f in choices(may, room) if kept <= f.items())


def greedy(
    effect: Effect, goals: Goals, may: Sequence[Sequence[bool]], room: Sequence[int], cost: float = 0.0
) -> Firsts:
    """Always the pair that adds most, until none adds anything."""
    firsts: Firsts = {}
    while True:
        now = worth(effect, goals, firsts, cost)
        served = list(firsts.values())
        options = [
            (worth(effect, goals, firsts | {j: i}, cost) - now, -j, -i)
            for i in range(len(may))
            for j in range(len(may[0]))
            if j not in firsts and may[i][j] and served.count(i) < room[i]
        ]
        gain, j, i = max(options, default=(0.0, 0, 0))
        if gain <= 1e-12:
            return firsts
        firsts[-j] = -i
