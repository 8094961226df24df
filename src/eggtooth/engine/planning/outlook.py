"""What a whole plan does for each wish: the expected number, and the exact chance of as many as wanted."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

from eggtooth.engine.planning.diminishing import share
from eggtooth.engine.planning.hopes import Hopes
from eggtooth.engine.planning.plan import WishOutlook
from eggtooth.engine.planning.plan_rules import Choice
from eggtooth.engine.planning.prospects import Prospects
from eggtooth.engine.planning.stakes import Stakes
from eggtooth.engine.planning.wishes import Aim

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


def outlooks(who: Prospects, hopes: Hopes, stakes: Stakes, choice: Choice) -> tuple[WishOutlook, ...]:
    """For each wish. The firsts count; clutches are independent of each other."""
    means = stakes.means(choice.firsts)
    found = []
    for w, goal in enumerate(hopes.goals):
        value = goal.weight * float(share(means[w], goal.count))
        part = [
            (hopes.egg[w, i, j], who.males[i].p * who.females[j].p, who.females[j].hatchlings)
            for j, i in sorted(choice.firsts.items())
            if hopes.egg[w, i, j] > 0
        ]
        if hopes.reads[w].aim is Aim.PROVE:
            settled = float(share(means[w], 1))
            found.append(WishOutlook(goal.text, goal.weight, 1, settled, settled, value))
            continue
        expected = sum(p * comes * _mean(hatchlings) for p, comes, hatchlings in part)
        p = at_least(goal.count, part)
        found.append(WishOutlook(goal.text, goal.weight, goal.count, float(expected), p, value))
    return tuple(found)


def at_least(count: int, clutches: list[tuple[float, float, tuple[float, ...]]]) -> float:
    """Chance of at least `count` over independent clutches, each (chance of an egg as wished, chance that the
    clutch comes, chance of each number of hatchlings). Exact, by adding clutch after clutch; counts are held
    at `count`."""
    import numpy as np

    now = np.zeros(count + 1)
    now[0] = 1.0
    for p, comes, hatchlings in clutches:
        added = brought(float(p), float(comes), hatchlings)
        after = np.convolve(now, added)
        now = after[: count + 1].copy()
        now[count] += after[count + 1 :].sum()
    return float(min(1.0, now[count]))


def brought(p: float, comes: float, hatchlings: tuple[float, ...]) -> Floats:
    """Chance of each number as wished that one clutch brings: binomial given the number of hatchlings."""
    import numpy as np

    ways, k, rest = _ways(len(hatchlings))
    found = comes * (np.array(hatchlings) @ (ways * p**k * (1 - p) ** rest))
    found[0] += 1 - comes
    return np.asarray(found)


@lru_cache(maxsize=4)
def _ways(size: int) -> tuple[Floats, Ints, Ints]:
    """[m, k]: ways to choose k of m (none for k > m), k, and m - k (0 for k > m)."""
    import numpy as np

    k, m = np.arange(size)[None, :], np.arange(size)[:, None]
    ways = np.array([[math.comb(n, i) for i in range(size)] for n in range(size)], dtype=float)
    return ways, k, np.maximum(m - k, 0)


def _mean(hatchlings: tuple[float, ...]) -> float:
    return sum(m * h for m, h in enumerate(hatchlings))
