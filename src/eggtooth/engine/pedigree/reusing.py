"""Which pieces of a locus are as they were answered before, and where the sampled ones have their rows now.

A piece is kept when none of its rows and none of its tables changed; what is added, corrected or tested
elsewhere cannot reach it, as no table joins two pieces.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.elimination import Factor
from eggtooth.engine.pedigree.network import Network
from eggtooth.engine.pedigree.peeling import Core, Piece, Sampled, renumbered

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

ROUNDING = 1e-13
"""Differences of a table (largest entry 1) that come from the order of multiplying."""


@dataclass(frozen=True, eq=False)
class Kept:
    """A locus as it was answered: skeleton row of each family row, the network and its pieces."""

    rows: Ints
    network: Network
    pieces: tuple[Piece, ...]


class Reuse:
    """A locus asked again."""

    def __init__(self, before: Kept, rows: Ints, network: Network) -> None:
        """Line up the rows and pairs of two networks by skeleton row."""
        import numpy as np

        self.before, self.old, self.new = before, before.network, network
        most = int(max(before.rows.max(initial=0), rows.max(initial=0))) + 1
        place = np.full(most, -1)
        place[rows] = np.arange(len(rows))
        self.to = place[before.rows]
        """The new number of each old row, -1: gone."""
        self.source = np.full(len(rows), -1)
        self.source[self.to[self.to >= 0]] = np.flatnonzero(self.to >= 0)
        self.pair_to = self._pairs()

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

    def untouched(self) -> list[Piece]:
        """The pieces that need not be asked again, in the new numbers."""
        import numpy as np

        network = self.new
        label = network.label
        whole = np.ones(len(label), dtype=bool)
        whole[label[np.flatnonzero(self._changed())]] = False
        counts = np.bincount(label, minlength=len(label))
        out = []
        for piece in self.before.pieces:
            if max(piece.unknowns) >= len(self.to):
                continue
            now = self.to[list(piece.unknowns)]
            home = int(label[now[0]])
            if now.min() >= 0 and whole[home] and counts[home] == len(now) and (label[now] == home).all():
                out.append(self._moved(piece))
        return out

    def _changed(self) -> Bools:
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
        for ends in self._loose_ends(other):
            out[ends] = True
        return np.append(out, np.ones(len(mine.picks), dtype=bool))

    def _loose_ends(self, other: Bools) -> Iterator[Ints]:
        """Rows at the ends of tables that are new, gone or changed."""
        import numpy as np

        new, old = self.new, self.old
        kept = self.pair_to >= 0
        yield _there(self.to[old.pairs[~kept]].ravel())
        same = np.zeros(len(new.pairs), dtype=bool)
        one, two = new.pair_table[self.pair_to[kept]], old.pair_table[kept]
        alike = (abs(one - two) <= ROUNDING) & ((one > 0) == (two > 0))
        same[self.pair_to[kept]] = alike.all(axis=(1, 2))
        yield new.pairs[~same | other[new.pairs].any(axis=1)].ravel()
        gone = np.flatnonzero(old.open & (old.family.sire >= 0))
        now = self.to[gone]
        gone = gone[(now < 0) | ~new.open[np.maximum(now, 0)]]
        for parents in (old.family.sire, old.family.dam):
            yield _there(self.to[parents[gone]])

    def _moved(self, piece: Piece) -> Piece:
        out = renumbered(piece, self.to.tolist())
        if piece.sampled is None:
            return out
        return Piece(out.unknowns, {}, {}, out.log_total, self._moved_sampled(piece.sampled))

    def _moved_sampled(self, sampled: Sampled) -> Sampled:
        p = {int(self.to[v]): each for v, each in sampled.p.items()}
        pairs = {int(self.pair_to[k]): each for k, each in sampled.pairs.items() if self.pair_to[k] >= 0}
        return Sampled(p, pairs, {}, self._moved_core(sampled.core) if sampled.core else None)

    def cores(self) -> list[Core]:
        """What was drawn of sampled pieces, in the new numbers; left out where a row is gone or a sire
        uncertain."""
        drawn = [piece.sampled.core for piece in self.before.pieces if piece.sampled and piece.sampled.core]
        moved = [self._moved_core(core) for core in drawn if max(core.unknowns) < len(self.to)]
        return [core for core in moved if min(core.unknowns) >= 0]

    def _moved_core(self, core: Core) -> Core:
        to = self.to.tolist()
        return core._replace(
            unknowns=tuple(to[v] for v in core.unknowns),
            chances={to[v]: each for v, each in core.chances.items()},
            factors=tuple(Factor(tuple(to[v] for v in f.scope), f.values) for f in core.factors),
        )


def _there(rows: Ints) -> Ints:
    return rows[rows >= 0]


def cores_in(cores: Sequence[Core], unknowns: Sequence[int]) -> list[Core]:
    """Those that have to do with a piece."""
    mine = set(unknowns)
    return [core for core in cores if any(v in mine for v in core.unknowns)]
