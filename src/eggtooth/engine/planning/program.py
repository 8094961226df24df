"""The season's pairs as a linear program with whole numbers; `solving` says what it is for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from eggtooth.engine.planning.diminishing import share, slope
from eggtooth.engine.planning.stakes import Firsts, Stakes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

NODES = 4_000
"""Branch-and-bound nodes of one whole-number program: a limit that, unlike a time, gives the same plan
everywhere."""
TANGENTS = (
    0.0,
    0.05,
    0.1,
    0.2,
    0.3,
    0.4,
    0.5,
    0.6,
    0.7,
    0.8,
    0.9,
    1.0,
    1.2,
    1.4,
    1.7,
    2.0,
    2.5,
    3.0,
    4.0,
    6.0,
)
"""Where the first tangents touch, in units of the number wanted."""


class Unsolved(RuntimeError):
    """The solver gave no answer; the message is its own."""


class Program:
    """The linear program over the pairs that do anything, with its tangents."""

    def __init__(self, stakes: Stakes) -> None:
        import numpy as np

        self.stakes = stakes
        does = stakes.open & (stakes.effect > 0).any(axis=0)
        for i, j in stakes.pins:  # she takes no other
            does[:, j] = False
            does[i, j] = True
        self.male, self.female = (a.astype(np.int64) for a in np.nonzero(does))
        self.effect = np.ascontiguousarray(stakes.effect[:, self.male, self.female])
        self.size = len(self.male)
        pins = stakes.pins
        pairs = zip(self.male.tolist(), self.female.tolist(), strict=True)
        self.fixed = np.array([k for k, pair in enumerate(pairs) if pair in pins], dtype=np.int64)
        self.tangents: list[tuple[int, float, float]] = []
        for w, goal in enumerate(stakes.goals):
            for times in TANGENTS:
                self._touch(w, times * goal.count)

    def touch(self, means: Floats) -> None:
        """Add tangents at these effective numbers."""
        for w, m in enumerate(means.tolist()):
            self._touch(w, m)

    def _touch(self, w: int, m: float) -> None:
        goal = self.stakes.goals[w]
        rise = float(slope(m, goal.count))
        self.tangents.append((w, rise, float(share(m, goal.count)) - rise * m))

    def outer(self, means: Floats) -> float:
        """The worth the tangents allow at these effective numbers."""
        least = [1.0] * len(self.stakes.goals)
        for w, rise, at_zero in self.tangents:
            least[w] = min(least[w], at_zero + rise * float(means[w]))
        return sum(goal.weight * t for goal, t in zip(self.stakes.goals, least, strict=True))

    def first(self, firsts: Firsts) -> Ints:
        """Pairs to start from: a choice, and for each female the males that do most at its prices."""
        import numpy as np

        means = self.stakes.means(firsts)
        rises = [g.weight * float(slope(m, g.count)) for g, m in zip(self.stakes.goals, means, strict=True)]
        chosen = np.flatnonzero(
            [firsts.get(int(j), -1) == i for i, j in zip(self.male, self.female, strict=True)]
        )
        best = self._top(np.array(rises) @ self.effect, self.female, 3)
        return np.union1d(np.union1d(chosen, best), self.fixed)

    def relaxed(self, columns: Ints) -> tuple[float, float, Floats]:
        """Over some pairs: the optimum, what its solution is truly worth, what one more of each pair adds.

        Tangents are added where it lies.
        """
        import numpy as np
        from scipy.optimize import linprog

        matrix, top, low, high, costs = self._matrices(columns)
        found = linprog(costs, A_ub=matrix, b_ub=top, bounds=np.column_stack([low, high]), method="highs")
        if found.status != 0:
            raise Unsolved(f"the relaxed plan was not solved: {found.message}")
        females, males, goals = (
            len(part) for part in (self.stakes.females, self.stakes.males, self.stakes.goals)
        )
        each, room, does, _ = np.split(found.ineqlin.marginals, np.cumsum([females, males, goals]))
        counts = np.array([goal.count for goal in self.stakes.goals])
        adds = each[self.female] + room[self.male] - (does / counts) @ self.effect - self.stakes.cost
        x = found.x[: len(columns)]
        means = self.effect[:, columns] @ x
        self.touch(means)
        worth = float(self.stakes.worth_of(means)) - self.stakes.cost * float(x.sum())
        return -float(found.fun), worth, adds

    def most_added(self, adds: Floats) -> float:
        """The most that pairs left out could add, one for each female that is free to choose."""
        import numpy as np

        most = np.zeros(len(self.stakes.females))
        free = ~np.isin(np.arange(self.size), self.fixed)
        np.maximum.at(most, self.female[free], adds[free])
        return float(most.sum())

    def best_added(self, adds: Floats) -> Ints:
        """Of each female, and of each male, the pairs that would add most."""
        import numpy as np

        best = np.union1d(self._top(adds, self.female, 2), self._top(adds, self.male, 2))
        return best[adds[best] > 0]

    def _top(self, worth: Floats, whose: Ints, most: int) -> Ints:
        """Up to so many pairs of each animal, by worth."""
        import numpy as np

        order = np.lexsort((-worth, whose))
        starts = np.searchsorted(whose[order], whose[order])
        return order[np.arange(len(order)) - starts < most]

    def solved(self, columns: Ints, gap: float, seconds: float) -> tuple[Firsts | None, float]:
        """The best choice among some pairs (None when stopped before there was one), and their bound."""
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp

        matrix, top, low, high, costs = self._matrices(columns)
        whole = np.zeros(len(costs))
        whole[: len(columns)] = 1
        limits = {"mip_rel_gap": gap, "node_limit": NODES, "time_limit": min(max(1.0, seconds), 1e6)}
        found = milp(
            costs,
            integrality=whole,
            bounds=Bounds(low, high),
            constraints=LinearConstraint(matrix, -np.inf, top),
            options=limits,
        )
        stopped = (
            found.status == 1 or "Solution limit" in found.message
        )  # by time or by nodes: both have bounds
        if found.status != 0 and not stopped:
            raise Unsolved(f"the plan was not solved: {found.message}")
        bound = math.inf if found.mip_dual_bound is None else -float(found.mip_dual_bound)
        if found.x is None:
            return None, bound
        picked = columns[found.x[: len(columns)] > 0.5]
        return {int(self.female[k]): int(self.male[k]) for k in picked}, bound

    def _matrices(self, columns: Ints) -> tuple[Any, Floats, Floats, Floats, Floats]:
        """Rows: one male a female; room of each male; effective numbers; tangents. Columns: pairs, effective
        numbers, worth of each goal.

        Effective numbers are in units of the number wanted, so that all numbers are near one.
        """
        import numpy as np
        import scipy.sparse as sp

        stakes, n, goals = self.stakes, len(columns), len(self.stakes.goals)
        ones, at = np.ones(n), np.arange(n)
        each = sp.csr_matrix((ones, (self.female[columns], at)), (len(stakes.females), n))
        room = sp.csr_matrix((ones, (self.male[columns], at)), (len(stakes.males), n))
        counts = np.array([goal.count for goal in stakes.goals], dtype=float)
        does = sp.csr_matrix(-self.effect[:, columns] / counts[:, None])
        which = [w for w, _, _ in self.tangents]
        rows = np.arange(len(which))
        rises = sp.csr_matrix(
            ([-rise * counts[w] for w, rise, _ in self.tangents], (rows, which)), (len(which), goals)
        )
        ups = sp.csr_matrix((np.ones(len(which)), (rows, which)), (len(which), goals))
        matrix = sp.bmat(
            [[each, None, None], [room, None, None], [does, sp.eye(goals), None], [None, rises, ups]],
            format="csc",
        )
        at_zero = np.array([a for _, _, a in self.tangents])
        top = np.concatenate([np.ones(len(stakes.females)), stakes.room, np.zeros(goals), at_zero])
        low = np.zeros(n + 2 * goals)
        low[:n][np.isin(columns, self.fixed)] = 1
        high = np.full(
            n + 2 * goals, np.inf
        )  # the rows hold the pairs; a bound would take part of their price
        high[n + goals :] = 1
        costs = np.concatenate(
            [np.full(n, stakes.cost), np.zeros(goals), [-goal.weight for goal in stakes.goals]]
        )
        return matrix, top, low, high, costs
