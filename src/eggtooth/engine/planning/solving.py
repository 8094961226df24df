"""The best choice of one male for each female, with a proof of how good it is.

Chosen are pairs x (0 or 1): at most one male a female, at most `room` females a male, pins at 1. The worth
is concave in the effective numbers m = sum of effect x, so it is the least of its tangents: with a variable
for each goal below all its tangents this is a mixed-integer linear program whose optimum is never below the
true one. Tangents are added where a solution lies until the two agree (Kelley 1960, J. SIAM 8:703-712).

Many pairs never matter. The relaxed program is solved over a few pairs, and others enter when the prices it
sets say that they would add something (column generation: Gilmore and Gomory 1961, Oper. Res. 9:849-859).
What they could add at most, one for each female, closes the bound. A pair that would cost more than the gap
between that bound and a known plan cannot be in a better plan (reduced-cost fixing: Nemhauser and Wolsey
1988, Integer and Combinatorial Optimization, from memory). The pairs left go to the whole-number solver.
Every bound is that of a relaxation, so it holds whatever the solver did.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from eggtooth.engine.planning.improving import greedy, improved
from eggtooth.engine.planning.program import Program
from eggtooth.engine.planning.stakes import Stakes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

AIM = 1e-6
"""Share of the bound at which a plan counts as the best."""
NEAR = 1e-4
"""Share of the bound at which a plan of very many pairs is left as it is, unless more is asked."""
FEW = 3_000
"""Pairs with the best reduced costs that the first whole-number program is given."""
MANY = 12_000
"""More pairs than these are not handed to the whole-number solver."""
PRICINGS = 80
ROUNDS = 25


@dataclass(frozen=True, slots=True)
class Solved:
    """A choice, what it is worth and what none can be worth more than."""

    firsts: dict[int, int]
    value: float
    bound: float


def usual_aim(stakes: Stakes) -> float:
    """How near the best a plan is driven unless asked otherwise: to the best, or near it over many pairs."""
    return AIM if len(stakes.males) * len(stakes.females) <= MANY else NEAR


def solve(stakes: Stakes, aim: float = AIM, left: Callable[[], float] = lambda: math.inf) -> Solved:
    """The best plan, or one whose bound says how near it is. The pins must be possible together.

    It ends when the gap is at most `aim`, when its node limits are used up, or when `left()`, the seconds the
    caller still gives it, is spent (only then may two runs differ). Raises `Unsolved`.
    """
    return _Search(stakes, aim, left).run()


class _Search:
    """One run: the program over all pairs, the best choice so far and the least bound so far."""

    def __init__(self, stakes: Stakes, aim: float, left: Callable[[], float]) -> None:
        self.stakes, self.aim, self.left = stakes, aim, left
        self.program = Program(stakes)
        self.best = improved(stakes, greedy(stakes))
        self.value = stakes.worth(self.best)
        self.bound = float("inf")

    def run(self) -> Solved:
        """Relax; a few pairs; then every pair that may still matter."""
        import numpy as np

        if not self.program.size:
            return Solved(self.best, self.value, self.value)
        costs = self._relax()
        if self.program.size > FEW:
            few = np.sort(np.argsort(costs, kind="stable")[:FEW])
            self._whole(np.union1d(few, self.program.fixed), whole=False)
        may = np.flatnonzero(costs <= max(0.0, self.bound - self.value))
        may = np.union1d(may, self.program.fixed)
        if not self._done() and len(may) <= MANY:
            self._whole(may, whole=True)
        return Solved(self.best, self.value, max(self.bound, self.value))

    def _relax(self) -> Floats:
        """Bound by the relaxed program over all pairs; returns what each pair left out costs, at least."""
        import numpy as np

        program, kept = self.program, None
        columns = program.first(self.best)
        for _ in range(PRICINGS):
            inner, worth, adds = program.relaxed(columns)
            bound = inner + program.most_added(adds)
            if bound < self.bound:
                self.bound, kept = bound, adds
            if bound - worth <= 0.1 * self.aim * bound or self._late():
                break
            columns = np.union1d(columns, program.best_added(adds))
        return np.zeros(program.size) if kept is None else -kept

    def _whole(self, columns: Ints, whole: bool) -> None:
        """Solve over some pairs, adding tangents; the bound counts only when no better pair is left out."""
        for _ in range(ROUNDS):
            if self._late():
                return
            chosen, bound = self.program.solved(columns, self.aim / 4, self.left())
            if whole:
                self.bound = min(self.bound, max(bound, self.value))
            if chosen is None:
                return
            means = self.stakes.means(chosen)
            self._take(improved(self.stakes, chosen))
            outer = self.program.outer(means)
            if self._done() or outer - float(self.stakes.worth_of(means)) <= 0.25 * self.aim * self.bound:
                return
            self.program.touch(means)

    def _take(self, chosen: dict[int, int]) -> None:
        value = self.stakes.worth(chosen)
        if value > self.value:
            self.best, self.value = chosen, value

    def _done(self) -> bool:
        return self.bound - self.value <= self.aim * self.bound

    def _late(self) -> bool:
        return self.left() <= 0
