"""One locus in one pedigree: the question that exact elimination and sampling both answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.pedigree.segregation import Segregation

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Pick:
    """Row `row` stands for the sire of a clutch (or egg): one of `candidates`, by `odds` (sum 1)."""

    row: int
    candidates: Ints
    odds: Floats


@dataclass(frozen=True)
class Family:
    """n animals, parents before offspring, at one locus with S genotypes.

    `sire`, `dam` [n]: rows, or -1 for both (a founder, or the row of a `Pick`). `table` [n, S]: likelihood of
    what was seen on each animal; for founders times the prior; for the rows of picks ones. An animal with one
    known parent has a founder standing in for the other.
    """

    segregation: Segregation
    sire: Ints
    dam: Ints
    table: Floats
    picks: Sequence[Pick] = ()


@dataclass(frozen=True)
class Posterior:
    """What is known then. `p` [n, S]; `log_evidence`: log chance of all that was seen; `picked`: odds of each
    pick.

    `error` [n, S] is the standard error of sampled rows (0 for exact ones), or None when everything is exact;
    then
    `log_evidence` is not a number where any part was sampled.
    """

    p: Floats
    log_evidence: float
    picked: tuple[Floats, ...]
    error: Floats | None = None


class Impossible(ValueError):
    """What was seen cannot all be true; `rows` are animals at which that shows."""

    def __init__(self, rows: Sequence[int]) -> None:
        """Keep the rows."""
        self.rows = tuple(rows)
        super().__init__(f"what was seen cannot all be true; it shows at rows {self.rows[:10]}")
