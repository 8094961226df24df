"""What differs between two layouts of one locus: which unknowns changed, or hang on a table that did."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.lined_up import LinedUp
from eggtooth.engine.pedigree.network import Network

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

ROUNDING = 1e-13
"""Differences of a table (largest entry 1) that come from the order of multiplying."""


class Difference:
    """Between an `old` layout and the `new` one, whose rows are lined up."""

    def __init__(self, old: Network, new: Network, lined: LinedUp) -> None:
        """Keep the three."""
        self.old, self.new, self.to, self.source = old, new, lined.to, lined.source

    @cached_property
    def changed(self) -> Bools:
        """Unknowns [n + picks] that changed or that hang on a table that did."""
        import numpy as np

        new, old, source = self.new, self.old, self.source
        known = source >= 0
        was = np.maximum(source, 0)
        other = ~known | (new.open != old.open[was]) | (new.allowed != old.allowed[was]).any(axis=1)
        out = other.copy()
        mine, its = new.family, old.family
        seen = (mine.table != its.table[was]).any(axis=1)
        for parents, before in ((mine.sire, its.sire), (mine.dam, its.dam)):
            then = np.where(before[was] >= 0, self.to[before[was]], -1)
            seen |= (parents != then) | ((parents >= 0) & other[parents])
        out |= seen & new.open
        born = np.flatnonzero(out & new.open & (mine.sire >= 0))
        out[mine.sire[born]] = out[mine.dam[born]] = True
        for ends in self._loose_ends(other):
            out[ends] = True
        return np.append(out, np.ones(len(mine.picks), dtype=bool))

    def _loose_ends(self, other: Bools) -> Iterator[Ints]:
        """Rows at the ends of tables that are new, gone or changed."""
        import numpy as np

        new, old = self.new, self.old
        pair_to = self._pairs()
        kept = pair_to >= 0
        yield there(self.to[old.pairs[~kept]].ravel())
        same = np.zeros(len(new.pairs), dtype=bool)
        one, two = new.pair_table[pair_to[kept]], old.pair_table[kept]
        alike = (abs(one - two) <= ROUNDING) & ((one > 0) == (two > 0))
        same[pair_to[kept]] = alike.all(axis=(1, 2))
        yield new.pairs[~same | other[new.pairs].any(axis=1)].ravel()
        gone = np.flatnonzero(old.open & (old.family.sire >= 0))
        now = self.to[gone]
        gone = gone[(now < 0) | ~new.open[np.maximum(now, 0)]]
        for parents in (old.family.sire, old.family.dam):
            yield there(self.to[parents[gone]])

    @cached_property
    def reshaped(self) -> Bools:
        """New rows whose possible genotypes are others, or that are new."""
        import numpy as np

        return np.asarray((self.new.allowed != self.old.allowed[np.maximum(self.source, 0)]).any(axis=1))

    def _pairs(self) -> Ints:
        """The new number of each old pair, -1: gone."""
        import numpy as np

        n = len(self.source)
        ends = self.to[self.old.pairs]
        mine, its = self.new.pairs[:, 0] * n + self.new.pairs[:, 1], ends[:, 0] * n + ends[:, 1]
        at = np.searchsorted(mine, its)  # pairs are in ascending order
        found = (ends >= 0).all(axis=1) & (at < len(mine))
        found[found] = mine[at[found]] == its[found]
        return np.where(found, at, -1)


def there(rows: Ints) -> Ints:
    """Those that are not gone."""
    return rows[rows >= 0]
