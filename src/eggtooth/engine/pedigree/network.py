"""One locus of one family laid out for summing: what is impossible struck out, what can be folded folded.

Animals without offspring, and animals whose genotype is certain, are folded into a table over their parents'
genotypes (Elston & Stewart 1971, Hum. Hered. 21:523-542; Cannings, Thompson & Skolnick 1978, Adv. Appl. Prob.
10:26-61; from memory). What stays open falls into pieces that do not touch.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.domains import Sooner, possible
from eggtooth.engine.pedigree.elimination import Factor
from eggtooth.engine.pedigree.family import Family, Impossible, Pick

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

CHUNK_CELLS = 4_000_000


@dataclass(frozen=True, eq=False)
class Network:
    """The open part of a family.

    `allowed` [n, S] possible genotypes; `open` [n]: rows with offspring and more than one of them; `folded`
    [n]: rows summed into their parents' table; `pairs` [m, 2]: distinct (sire, dam) of folded rows,
    `pair_of` [n] the pair of each folded row (-1: none), `pair_table` [m, S, S] the product of their
    likelihoods (largest entry 1); `sizes` of all unknowns (open rows; numbers from n up are the choices of
    picks); `log_scale`: log of everything already summed or scaled away.
    """

    family: Family
    allowed: Bools
    open: Bools
    folded: Bools
    pairs: Ints
    pair_of: Ints
    pair_table: Floats
    sizes: Mapping[int, int]
    log_scale: float

    @cached_property
    def label(self) -> Ints:
        """The piece of every unknown, by its lowest number, shape [n + picks]; of other rows their own
        number."""
        import numpy as np

        family, n = self.family, len(self.open)
        born = np.flatnonzero(self.open & (family.sire >= 0))
        ends = [self.pairs.T, np.stack([born, family.sire[born]]), np.stack([born, family.dam[born]])]
        for k, pick in enumerate(family.picks):
            beside = np.append(pick.candidates, pick.row)
            ends.append(np.stack([np.full(len(beside), n + k), beside]))
        edges = np.concatenate(ends, axis=1)
        unknown = np.append(self.open, np.ones(len(family.picks), dtype=bool))
        return _components(len(unknown), edges[:, unknown[edges].all(axis=0)])

    def pieces(self) -> dict[int, list[int]]:
        """Unknowns that belong together, by label."""
        out: dict[int, list[int]] = {}
        label = self.label.tolist()
        for v in self.sizes:
            out.setdefault(label[v], []).append(v)
        return out

    def factors(self, wanted: Bools) -> Iterator[Factor]:
        """Tables that touch some unknowns; `wanted` [n + picks] marks them.

        They are of open founders, of pairs with an open parent and of open offspring.
        """
        import numpy as np

        family = self.family
        mine = wanted[: len(self.open)] & self.open
        for row in np.flatnonzero(mine & (family.sire < 0)).tolist():
            yield Factor((row,), family.table[row][self.allowed[row]])
        k = np.flatnonzero(mine[self.pairs].any(axis=1))
        yield from self._cut(
            self.pairs[k], lambda which, cells: self.pair_table[k[which]][:, cells[0], cells[1]]
        )
        rows = np.flatnonzero(self.open & (family.sire >= 0))
        rows = rows[mine[rows] | mine[family.sire[rows]] | mine[family.dam[rows]]]
        seen, offspring = family.table[rows], family.segregation.offspring
        ends = np.stack([family.sire[rows], family.dam[rows], rows], axis=1)
        yield from self._cut(
            ends, lambda which, cells: offspring[cells][None] * seen[which][:, None, None, cells[2].ravel()]
        )
        for k_pick, pick in enumerate(family.picks):
            if wanted[len(self.open) + k_pick] or wanted[pick.row] or wanted[pick.candidates].any():
                yield from self._of_pick(k_pick, pick)

    def by_piece(self, factors: Iterable[Factor]) -> dict[int, list[Factor]]:
        """Tables by the label of their piece."""
        out: dict[int, list[Factor]] = {}
        label = self.label.tolist()
        for factor in factors:
            out.setdefault(label[factor.scope[0]], []).append(factor)
        return out

    def _cut(self, ends: Ints, tables: Callable[[Ints, tuple[Ints, ...]], Floats]) -> Iterator[Factor]:
        """Tables [m, S, ...] over rows `ends` [m, d] cut down to the genotypes still possible.

        Those of equal possibilities are cut together; certain animals are left out.
        """
        import numpy as np

        for which in self._alike(ends):
            first = ends[which[0]].tolist()
            cells = np.ix_(*(np.flatnonzero(self.allowed[r]) for r in first))
            shape = [len(c) for c in (axis.ravel() for axis in cells)]
            kept = [i for i, r in enumerate(first) if self.open[r]]
            block = tables(which, cells).reshape((len(which), *(shape[i] for i in kept)))
            for scope, values in zip(ends[which][:, kept].tolist(), block, strict=True):
                yield Factor(tuple(scope), values)

    def _alike(self, ends: Ints) -> list[Ints]:
        """Places of `ends` grouped by which genotypes the rows may have."""
        import numpy as np

        if not len(ends):
            return []
        rows, at = np.unique(ends, return_inverse=True)
        packed = np.packbits(self.allowed[rows], axis=1)
        sets = np.ascontiguousarray(packed).view([("", packed.dtype)] * packed.shape[1]).ravel()
        kinds = np.unique(sets, return_inverse=True)[1].ravel()
        code = np.zeros(len(ends), dtype=np.int64)
        for axis in kinds[at.reshape(ends.shape)].T:
            code = code * (int(kinds.max()) + 1) + axis
        order = np.argsort(code, kind="stable")
        return np.split(order, np.flatnonzero(np.diff(code[order])) + 1)

    def _of_pick(self, k: int, pick: Pick) -> Iterator[Factor]:
        """A pick's odds, and for each candidate 'if chosen, the stand-in has this candidate's genotype'."""
        import numpy as np

        n, size = self.allowed.shape
        yield Factor((n + k,), pick.odds)
        for choice, candidate in enumerate(pick.candidates.tolist()):
            rows = [pick.row, candidate]
            table = np.ones((len(pick.odds), size, size))
            table[choice] = np.eye(size)
            cut = table[np.ix_(np.arange(len(table)), *(np.flatnonzero(self.allowed[r]) for r in rows))]
            kept = [r for r in rows if self.open[r]]
            yield Factor((n + k, *kept), cut.reshape([len(table), *(self.sizes[r] for r in kept)]))


def _components(count: int, edges: Ints) -> Ints:
    """Lowest number of each connected group, shape [count]; `edges` [2, m]."""
    import numpy as np

    label = np.arange(count)
    one, other = edges
    while True:
        low = np.minimum(label[one], label[other])
        before = label.copy()
        np.minimum.at(label, label[one], low)
        np.minimum.at(label, label[other], low)
        label = label[label]
        if (label == before).all():
            return label


def build(family: Family, sooner: Sooner | None = None) -> Network:
    """Strike out the impossible and fold what can be folded. Raises `Impossible`."""
    import numpy as np

    allowed = possible(family, sooner)
    born = family.sire >= 0
    used = np.zeros(len(born), dtype=bool)
    used[family.sire[born]] = used[family.dam[born]] = True
    for pick in family.picks:
        used[pick.candidates] = used[pick.row] = True
    states = allowed.sum(axis=1)
    closed = states == 1
    folded = born & (closed | ~used)
    pairs, pair_of = _pairs_of(family, folded)
    pair_table, log_scale = _fold(family, allowed, folded, pairs, pair_of)
    open_rows = used & ~closed
    sizes = dict(zip(np.flatnonzero(open_rows).tolist(), states[open_rows].tolist(), strict=True))
    sizes |= {len(born) + k: len(pick.odds) for k, pick in enumerate(family.picks)}
    settled = ~born & ~open_rows
    for pick in family.picks:
        settled[pick.row] = False
    more = float(np.log((family.table * allowed)[settled].sum(axis=1)).sum())
    return Network(family, allowed, open_rows, folded, pairs, pair_of, pair_table, sizes, log_scale + more)


def _pairs_of(family: Family, folded: Bools) -> tuple[Ints, Ints]:
    import numpy as np

    n = len(folded)
    rows = np.flatnonzero(folded)
    keys, which = np.unique(family.sire[rows] * n + family.dam[rows], return_inverse=True)
    pair_of = np.full(n, -1)
    pair_of[rows] = which
    return np.stack([keys // n, keys % n], axis=1), pair_of


def _fold(family: Family, allowed: Bools, folded: Bools, pairs: Ints, pair_of: Ints) -> tuple[Floats, float]:
    """Product over the folded offspring of each pair of P(seen on offspring | sire, dam)."""
    import numpy as np

    size = allowed.shape[1]
    offspring = family.segregation.offspring.reshape(size * size, size)
    rows = np.flatnonzero(folded)
    rows = rows[np.argsort(pair_of[rows], kind="stable")]
    table = np.ones((len(pairs), size * size))
    log_scale = 0.0
    for mine in _chunks(pair_of[rows], max(1, CHUNK_CELLS // (size * size))):
        chunk = rows[mine]
        seen = (family.table * allowed)[chunk] @ offspring.T
        top = seen.max(axis=1, keepdims=True)
        if (top == 0).any():
            raise Impossible(chunk[top[:, 0] == 0].tolist())
        log_scale += float(np.log(top).sum())
        which, starts = np.unique(pair_of[chunk], return_index=True)
        table[which] = np.multiply.reduceat(seen / top, starts, axis=0)
    table *= (allowed[pairs[:, 0], :, None] & allowed[pairs[:, 1], None, :]).reshape(len(pairs), size * size)
    top = table.max(axis=1, keepdims=True) if len(pairs) else np.ones((0, 1))
    if (top == 0).any():
        raise Impossible(np.flatnonzero(np.isin(pair_of, np.flatnonzero(top[:, 0] == 0))).tolist())
    return (table / top).reshape(-1, size, size), log_scale + float(np.log(top).sum())


def _chunks(groups: Ints, most: int) -> list[slice]:
    """Cut a sorted array into runs of whole groups of about `most` items."""
    import numpy as np

    out, start = [], 0
    while start < len(groups):
        stop = min(len(groups), start + most)
        if stop < len(groups):
            cut = int(np.searchsorted(groups, groups[stop]))
            stop = cut if cut > start else int(np.searchsorted(groups, groups[stop], side="right"))
        out.append(slice(start, stop))
        start = stop
    return out
