"""What a laboratory result is worth: how likely each is for each number of copies, and what it settles.

A laboratory may miss a gene that is there or find one that is not, at rates of their own: in tests for
carriers the first is usual (a variant that is not looked for) and the second rare (Ogino & Wilson 2004, J.
Mol. Diagn. 6:1-9).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.uncertainty import bits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LabErrors:
    """Rates of one laboratory, each a share in [0, 1).

    `error`: any wrong count, either of the two wrong ones alike; `misses`: no copy found though there is one
    or two; `invents`: a copy found where there is none. The last two stand in place of `error` where given,
    which then speaks only of one copy counted as two or two as one.
    """

    error: float = 0.0
    misses: float | None = None
    invents: float | None = None

    def __post_init__(self) -> None:
        """Refuse shares that are none, or that leave nothing for the right count."""
        for name, value in vars(self).items():
            if value is not None and not 0 <= value < 1:
                raise ValueError(f"{name} is {value}, not a share between 0 and 1")
        if self.missed + self.error / 2 >= 1:
            raise ValueError(
                f"a laboratory that misses {self.missed} and errs in {self.error} is never right"
            )

    @property
    def missed(self) -> float:
        """Chance that a gene that is there is not found."""
        return self.error / 2 if self.misses is None else self.misses

    @property
    def invented(self) -> float:
        """Chance that a gene that is not there is found."""
        return self.error if self.invents is None else self.invents


def result_chances(copies: Ints, found: int, errors: LabErrors) -> Floats:
    """P(`found` copies reported | true `copies`), shape of `copies`; sums to 1 over found = 0, 1, 2."""
    import numpy as np

    if found == 0:
        return np.where(copies == 0, 1 - errors.invented, errors.missed)
    right = 1 - errors.missed - errors.error / 2
    return np.where(copies == 0, errors.invented / 2, np.where(copies == found, right, errors.error / 2))


@dataclass(frozen=True)
class LabWorth:
    """What one test would do. `finds`: chance that it finds the gene; `after_found`, `after_not`: chance of
    carrying then; `settles`: expected share of the uncertainty (in bits) that it takes away."""

    errors: LabErrors
    finds: float
    after_found: float
    after_not: float
    settles: float


def lab_worth(carries: float, errors: LabErrors) -> LabWorth:
    """Of an animal that carries the gene with chance `carries` (0 to 1)."""
    import numpy as np

    told = np.array(
        [
            [carries * (1 - errors.missed), (1 - carries) * errors.invented],
            [carries * errors.missed, (1 - carries) * (1 - errors.invented)],
        ]
    )
    before = bits(told.sum(axis=0, keepdims=True))
    whole = told.sum(axis=1)
    found, clear = (
        float(row[0] / total) if total else carries for row, total in zip(told, whole, strict=True)
    )
    return LabWorth(
        errors, float(whole[0]), float(found), float(clear), (before - bits(told)) / before if before else 0.0
    )
