"""Which pieces of a locus are as they were answered before, and how the others are brought up to date.

A piece is kept when none of its rows and none of its tables changed; what is added, corrected or tested
elsewhere cannot reach it, as no table joins two pieces. Of the others only what the change reaches is
worked out again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.difference import Difference, there
from eggtooth.engine.pedigree.elimination import TooTangled, no_core
from eggtooth.engine.pedigree.family import Impossible
from eggtooth.engine.pedigree.lined_up import LinedUp
from eggtooth.engine.pedigree.network import Network
from eggtooth.engine.pedigree.pieces import Piece, Tangle, reread
from eggtooth.engine.pedigree.regrowing import Grown, on_the_way, regrown, renumbered, spread_out, together

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

STILL = 1e-14
"""A move of an exact figure that is left out."""
MOST_CELLS = 1 << 23
"""Table cells beyond which a piece is rather asked from nothing."""


@dataclass(frozen=True, eq=False)
class Kept:
    """A locus as it was answered: skeleton row of each family row, the network and its pieces."""

    rows: Ints
    network: Network
    pieces: tuple[Piece, ...]


class Reuse:
    """A locus asked again."""

    def __init__(self, before: Kept, lined: LinedUp, network: Network) -> None:
        """What it was, and its rows now."""
        self.before, self.old, self.new = before, before.network, network
        self.lined, self.to, self.source = lined, lined.to, lined.source
        self.difference = Difference(self.old, network, lined)

    def known(self, rng: Callable[[], np.random.Generator], budget: int) -> dict[int, Piece]:
        """The pieces that are as they were or worked out from what they were, in the new numbers, by label.

        What was one piece and has come apart is answered together, under each of its labels. Raises
        `Impossible`, and `NoStart` as sampling does.
        """
        import numpy as np

        label = self.new.label
        whole = np.ones(len(label), dtype=bool)
        whole[label[np.flatnonzero(self.difference.changed)]] = False
        counts = np.bincount(label, minlength=len(label))
        unknowns = self.new.pieces()
        out = {}
        for labels, owners in self._families():
            same = len(owners) == 1 and whole[labels].all()
            if same and counts[labels].sum() == len(self._unknowns[owners[0]]):
                piece: Piece | None = self._moved(self.before.pieces[owners[0]])
            else:
                piece = self.again([v for at in labels for v in unknowns[at]], owners, rng(), budget)
            if piece is not None:
                out.update(dict.fromkeys(labels, piece))
        return out

    def _families(self) -> Iterator[tuple[list[int], list[int]]]:
        """Labels of new pieces that share old pieces, with the numbers of these; none where a choice of sire
        is among them, which is asked again."""
        import numpy as np

        at: dict[int, tuple[set[int], set[int]]] = {}
        picked: set[int] = set()
        for i, unknowns in enumerate(self._unknowns):
            rows = there(self.to[unknowns[unknowns < len(self.to)]])
            rows = rows[self.new.open[rows]]
            labels = set(np.unique(self.new.label[rows]).tolist())
            owners = {i}
            if unknowns.max() >= len(self.to):
                picked |= labels
            for mine in list(labels):
                if mine in at:
                    labels |= at[mine][0]
                    owners |= at[mine][1]
            at.update(dict.fromkeys(labels, (labels, owners)))
        picked.update(self.new.label[len(self.source) :].tolist())
        seen: set[int] = set()
        for home, (labels, owners) in at.items():
            if home not in seen and picked.isdisjoint(labels):
                yield sorted(labels), sorted(owners)
            seen |= labels

    @cached_property
    def _unknowns(self) -> list[Ints]:
        """The unknowns of each old piece, in the old numbers."""
        import numpy as np

        return [np.array(piece.unknowns) for piece in self.before.pieces]

    def _moved(self, piece: Piece) -> Piece:
        """A piece in the new numbers."""
        to = self.lined.names
        if self.lined.as_numbered:
            return piece
        core = piece.core and piece.core._replace(chances={to[v]: x for v, x in piece.core.chances.items()})
        return replace(
            piece,
            unknowns=tuple([to[v] for v in piece.unknowns]),
            each={to[v]: odds for v, odds in piece.each.items()},
            joint={(to[s], to[d]): odds for (s, d), odds in piece.joint.items()},
            tree=piece.tree and renumbered(piece.tree, to),
            core=core,
        )

    def same(self, pieces: Sequence[Piece]) -> Bools:
        """Rows [n] whose odds are as they were: nothing of theirs was worked out again."""
        import numpy as np

        new, old, source = self.new, self.old, self.source
        was = np.maximum(source, 0)
        alike: Bools = (source >= 0) & (new.open == old.open[was])
        alike &= (new.allowed == old.allowed[was]).all(axis=1)
        steady: Bools = alike & ~new.open
        before: dict[int, Floats] = {}
        for piece in self.before.pieces:
            before |= piece.each
        names = source.tolist()
        kept = [
            v
            for piece in pieces
            for v, odds in piece.each.items()
            if v < len(names) and before.get(names[v]) is odds
        ]
        steady[kept] = alike[kept]
        pairs = steady[new.pairs].all(axis=1) & self._same_couples(pieces)
        table = (new.family.table == old.family.table[was]).all(axis=1)
        out: Bools = steady & (new.open | (table & (new.folded == old.folded[was])))
        rows = np.flatnonzero(new.folded)
        then = old.pairs[old.pair_of[was[rows]]]  # of rows not folded then, any: they are out already
        moved = (self.to[then] != new.pairs[new.pair_of[rows]]).any(axis=1)
        out[rows[moved | ~pairs[new.pair_of[rows]]]] = False
        return out

    def _same_couples(self, pieces: Sequence[Piece]) -> Bools:
        """Pairs whose joint odds are as they were."""
        import numpy as np

        before: dict[tuple[int, ...], Floats] = {}
        for piece in self.before.pieces:
            before |= piece.joint
        out = np.ones(len(self.new.pairs), dtype=bool)
        n = len(self.source)
        keys = self.new.pairs[:, 0] * n + self.new.pairs[:, 1]
        source = range(n) if self.lined.as_numbered else self.source.tolist()
        other = [
            sire * n + dam
            for piece in pieces
            for (sire, dam), odds in piece.joint.items()
            if before.get((source[sire], source[dam])) is not odds
        ]
        out[np.searchsorted(keys, other)] = False
        return out

    def again(
        self, unknowns: Sequence[int], owners: Sequence[int], rng: np.random.Generator, budget: int
    ) -> Piece | None:
        """Changed pieces, worked out from what their `owners` were; None when they have to be asked from
        nothing."""
        from eggtooth.engine.pedigree.reweighing import reweighed

        old = self._old(owners)
        if old is None or old.tree is None:
            return None
        try:
            grown = self._grown(old, unknowns, min(budget, MOST_CELLS))
        except TooTangled:
            return None
        except ZeroDivisionError:
            raise Impossible(list(unknowns)) from None
        if old.core is not None:
            settled = self._settled(old)
            tangle = Tangle(self.new, unknowns, ())
            return (
                None
                if settled is None or not grown.tree.core
                else reweighed(tangle, old, grown, settled, rng)
            )
        beliefs, news = spread_out(grown, old.beliefs, no_core, (), STILL)
        return reread(self.new, unknowns, old, grown.tree, beliefs, news, None, {}, no_core)

    def _old(self, owners: Sequence[int]) -> Piece | None:
        """What the pieces were, in the new numbers and as one."""
        olds = [self._moved(self.before.pieces[i]) for i in owners]
        trees = [piece.tree for piece in olds if piece.tree is not None]
        cores = [piece.core for piece in olds if piece.core is not None]
        if len(trees) < len(olds) or len(cores) > 1:
            return None
        if len(olds) == 1:
            return olds[0]
        return Piece(
            tuple(v for piece in olds for v in piece.unknowns),
            {v: odds for piece in olds for v, odds in piece.each.items()},
            {pair: odds for piece in olds for pair, odds in piece.joint.items()},
            0.0,
            together(trees),
            [belief for piece in olds for belief in piece.beliefs],
            cores[0] if cores else None,
        )

    def _grown(self, old: Piece, unknowns: Sequence[int], budget: int) -> Grown:
        import numpy as np

        assert old.tree is not None
        states = self.new.sizes
        sizes = {v: states[v] for v in unknowns}
        was, now = np.array(old.unknowns), np.array(unknowns)
        gone = set(old.unknowns).difference(sizes)
        still = was[was >= 0]
        reshaped = gone | set(still[self.difference.reshaped[still]].tolist()).intersection(sizes)
        changed = gone | set(now[self.difference.changed[now]].tolist())
        way = on_the_way(old.tree, changed, reshaped)
        wanted = np.zeros(len(self.new.label), dtype=bool)
        wanted[now[self.difference.changed[now]]] = True
        wanted[[c[0] for c, on in zip(old.tree.cliques, way, strict=True) if on and c[0] in sizes]] = True
        factors = [f for f in self.new.factors(wanted) if f.scope[0] in sizes]
        return regrown(old.tree, sizes, changed, reshaped, way, factors, budget)

    def _settled(self, old: Piece) -> dict[int, int] | None:
        """States, as they were numbered, of core unknowns that are certain now; None where one is gone."""
        assert old.tree is not None
        out = {}
        for v in old.tree.core:
            if v < 0:
                return None
            if not self.new.open[v]:
                state = int(self.new.allowed[v].argmax())
                before = self.old.allowed[self.source[v]]
                if self.new.allowed[v].sum() != 1 or not before[state]:
                    return None
                out[v] = int(before[:state].sum())
        return out
