"""Two askings of one locus, row by row: which row is which, and what was possible before."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.domains import Sooner

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.pedigree.family import Family
    from eggtooth.engine.pedigree.network import Network

    Ints = NDArray[np.int64]


class LinedUp:
    """Rows of two families of one skeleton.

    `to` [old rows]: the new number of each, -1: gone; `source` [new rows]: the old number, -1: new.
    """

    def __init__(self, before: Ints, rows: Ints) -> None:
        """`before`, `rows`: the skeleton row of each row, then and now."""
        import numpy as np

        most = int(max(before.max(initial=0), rows.max(initial=0))) + 1
        place = np.full(most, -1)
        place[rows] = np.arange(len(rows))
        self.to: Ints = place[before]
        self.source: Ints = np.full(len(rows), -1)
        self.source[self.to[self.to >= 0]] = np.flatnonzero(self.to >= 0)

    @cached_property
    def names(self) -> list[int]:
        """The new number of each old row; one below 0 of its own for those gone."""
        import numpy as np

        return [int(v) for v in np.where(self.to < 0, -2 - np.arange(len(self.to)), self.to)]

    @cached_property
    def as_numbered(self) -> bool:
        """Whether every old row has the number it had."""
        import numpy as np

        return bool((self.to == np.arange(len(self.to))).all())

    def possible(self, before: Network, family: Family) -> Sooner | None:
        """What was possible before, where all that ruled anything out then still does."""
        import numpy as np

        old = before.family
        if family.picks or old.picks or (self.to < 0).any():
            return None
        known, was = self.source >= 0, np.maximum(self.source, 0)
        for parents, then in ((family.sire, old.sire), (family.dam, old.dam)):
            if (parents != np.where(then >= 0, self.to[then], -1)[was])[known].any():
                return None
        if ((family.table > 0) & (old.table[was] == 0))[known].any():
            return None
        allowed = np.ones(family.table.shape, dtype=bool)
        allowed[known] = before.allowed[was[known]]
        return Sooner(allowed, known)
