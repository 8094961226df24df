"""What a season's plan is chosen over: the animals as rows and columns, what each pair does, the limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from eggtooth.engine.planning.diminishing import by_table, share

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

TOLERANCE = 1e-9

Firsts = Mapping[int, int]
"""The row of the male chosen for each column of a female."""


@dataclass(frozen=True, slots=True)
class Goal:
    """A wish as weighed: what it says, how much it matters, how many are wanted."""

    text: str
    weight: float
    count: int


@dataclass(frozen=True, eq=False)
class Stakes:
    """Males are rows, females columns. `effect` [goal, male, female] holds effective numbers (see
    `diminishing`), `room` [male] how many females each may serve, `kinship` and `harmful` [male, female]
    what stands between two; `pins` must be firsts, `bans` may not meet. Each pair made costs `cost`: a clutch
    is not asked of a female for next to nothing.
    """

    males: tuple[str, ...]
    females: tuple[str, ...]
    goals: tuple[Goal, ...]
    effect: Floats
    room: tuple[int, ...]
    kinship: Floats
    kinship_limit: float
    harmful: Bools
    pins: frozenset[tuple[int, int]] = field(default_factory=frozenset)
    bans: frozenset[tuple[int, int]] = field(default_factory=frozenset)
    cost: float = 0.0

    @cached_property
    def open(self) -> Bools:
        """[male, female]: the pairs that no rule on two animals keeps apart."""
        import numpy as np

        may = (self.kinship <= self.kinship_limit + TOLERANCE) & ~self.harmful
        for pair in self.bans:
            may[pair] = False
        return np.asarray(may)

    def means(self, firsts: Firsts) -> Floats:
        """[goal]: effective numbers of a choice."""
        import numpy as np

        found = np.zeros(len(self.goals))
        for j, i in sorted(firsts.items()):
            found += self.effect[:, i, j]
        return found

    def worth_of(self, means: Floats) -> Floats:
        """What effective numbers [..., goal] are worth: each goal's weight times the share of its count."""
        import numpy as np

        total = np.zeros(means.shape[:-1])
        for w, goal in enumerate(self.goals):
            total += goal.weight * share(means[..., w], goal.count)
        return total

    def worth(self, firsts: Firsts) -> float:
        """What a choice is worth, less what its pairs cost."""
        return float(self.worth_of(self.means(firsts))) - self.cost * len(firsts)

    def gains(self, means: Floats, female: int) -> Floats:
        """[male]: what each male at this female would add to effective numbers without her, cost taken off.

        By the table of shares, so to about 1e-6 of a wish's weight.
        """
        import numpy as np

        total = np.full(len(self.males), -self.cost)
        for w, goal in enumerate(self.goals):
            after = by_table(means[w] + self.effect[w, :, female], goal.count)
            total += goal.weight * (after - by_table(means[w], goal.count))
        return total
