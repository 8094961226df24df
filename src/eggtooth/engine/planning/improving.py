"""Plans made and bettered one pair at a time: the start for the solver, and its last touch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from eggtooth.engine.planning.stakes import Firsts, Stakes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

WORTH_IT = 1e-9
"""Gain, as a share of all weights, below which a pair is not made."""
MOST_ROUNDS = 50


def pinned(stakes: Stakes) -> dict[int, int]:
    """The pins as a choice."""
    return {j: i for i, j in sorted(stakes.pins)}


def greedy(stakes: Stakes) -> dict[int, int]:
    """The pins, then always the pair that adds most, until none adds anything.

    Gains only shrink as pairs are added, so a gain computed earlier is a limit: the largest is recomputed
    until it stays the largest. Cost: about females x males x goals, times the few recomputations.
    """
    import heapq

    import numpy as np

    chosen = pinned(stakes)
    means, left = stakes.means(chosen), _left(stakes, chosen)
    rest = [j for j in range(len(stakes.females)) if j not in chosen]
    heap = [(-np.inf, j) for j in rest]
    floor = WORTH_IT * sum(goal.weight for goal in stakes.goals)
    while heap:
        _, j = heapq.heappop(heap)
        gain, i = _best(stakes, means, left, j)
        if gain <= floor:
            continue
        if heap and -heap[0][0] > gain:
            heapq.heappush(heap, (-gain, j))
            continue
        chosen[j] = i
        left[i] -= 1
        means = means + stakes.effect[:, i, j]
    return chosen


def improved(stakes: Stakes, firsts: Firsts) -> dict[int, int]:
    """A choice no worse, that no single pair added, dropped or changed makes better."""
    chosen = dict(firsts)
    kept = {j for _, j in stakes.pins}
    means, left = stakes.means(chosen), _left(stakes, chosen)
    floor = WORTH_IT * sum(goal.weight for goal in stakes.goals)
    for _ in range(MOST_ROUNDS):
        moved = False
        for j in range(len(stakes.females)):
            if j in kept:
                continue
            old = chosen.pop(j, None)
            if old is not None:
                left[old] += 1
                means = means - stakes.effect[:, old, j]
            now = 0.0 if old is None else float(stakes.gains(means, j)[old])
            gain, i = _best(stakes, means, left, j)
            to = i if gain > max(now, floor) + floor else old
            if to is not None:
                chosen[j] = to
                left[to] -= 1
                means = means + stakes.effect[:, to, j]
            moved |= to != old
        if not moved:
            break
    return chosen


def _best(stakes: Stakes, means: Floats, left: NDArray[np.int64], female: int) -> tuple[float, int]:
    """The most any male with room adds at this female, and his row."""
    import numpy as np

    gains = np.where(stakes.open[:, female] & (left > 0), stakes.gains(means, female), -np.inf)
    i = int(gains.argmax()) if len(gains) else 0
    return (float(gains[i]) if len(gains) else -np.inf), i


def _left(stakes: Stakes, chosen: Firsts) -> NDArray[np.int64]:
    import numpy as np

    left = np.array(stakes.room, dtype=np.int64)
    for i in chosen.values():
        left[i] -= 1
    return left
