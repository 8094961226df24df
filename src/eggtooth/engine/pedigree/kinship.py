"""Inbreeding of every animal and kinship between any two sets of animals, exactly, without the whole matrix.

Definitions. a[i, j] is the numerator relationship; kinship is a[i, j] / 2; the inbreeding F[i] is a[i, i] -
1, which is the kinship of the parents. With T the matrix that traces genes down the pedigree and D the
diagonal of Mendelian sampling variances, A = T D T'. Columns of A are two passes through the pedigree
(Colleau 2002, Genet. Sel. Evol. 34:409-421), done here for a block of animals at once and one generation at a
time; inbreeding needs only the columns of the parents of one sex (Sargolzaei, Iwaisaki & Colleau 2005, J.
Anim. Breed. Genet. 122:325-331). Candidate sires enter by their probabilities (Henderson 1988, J. Anim. Sci.
66:1614-1621). Sources from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Any

from eggtooth.engine.pedigree.lineage import Lineage

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]

BLOCK = 128
"""Columns worked on at once: large enough to outweigh the calls, small enough for the cache."""


@dataclass(frozen=True)
class _Generation:
    """One generation: its rows, their distinct parents, and the shares between the two, down and up."""

    rows: slice
    parents: Ints
    down: Any
    up: Any


@dataclass(frozen=True)
class _Pairs:
    """Pairs of parents of one animal: `left` (the dam where known), `right`, the animal, and the two weights.

    a[i, i] - 1 is the sum of `weight` x a[left, right]; `product` is the product of the two shares.
    """

    left: Ints
    right: Ints
    animal: Ints
    weight: Floats
    product: Floats


def inbreeding(pedigree: Lineage, base: float = 0.0) -> Floats:
    """Inbreeding coefficient of every animal, shape [n].

    `base` is the kinship assumed between any two unknown parents, or between one and any other animal (0:
    unrelated; compare Aguilar & Misztal 2008). Exact. Cost: (parents of the rarer sex) x (animals that are
    parents) additions; memory some hundred columns of the parents. `ValueError` when `base` is not in [0, 1).
    """
    return base + (1 - _checked(base)) * (_diagonal_and_sampling(pedigree)[0] - 1)


def kinship(pedigree: Lineage, rows: Ints, columns: Ints, base: float = 0.0) -> Floats:
    """Kinship between two sets of animals, shape [len(rows), len(columns)]; `base` as for `inbreeding`.

    Exact. Cost: inbreeding of their ancestors, then the smaller set x ancestors additions.
    """
    import numpy as np

    if len(columns) > len(rows):
        return kinship(pedigree, columns, rows, base).T
    kept = pedigree.with_ancestors(np.union1d(rows, columns))
    inner = pedigree.restricted(kept)
    sampling, generations = _diagonal_and_sampling(inner)[1], _generations(inner)
    at_rows, at_columns = np.searchsorted(kept, rows), np.searchsorted(kept, columns)
    out = np.empty((len(rows), len(columns)))
    for start in range(0, len(columns), BLOCK):
        block = slice(start, start + BLOCK)
        out[:, block] = _columns(generations, sampling, at_columns[block])[at_rows]
    return base + (1 - _checked(base)) * out / 2


def _checked(base: float) -> float:
    if not 0 <= base < 1:
        raise ValueError(f"base kinship {base} is not in [0, 1)")
    return base


def _diagonal_and_sampling(pedigree: Lineage) -> tuple[Floats, Floats]:
    """a[i, i] and D[i] of every animal: first the parents, generation by generation, then the rest at one
    go."""
    import numpy as np

    parents = np.unique(pedigree.parent)
    inner = pedigree.restricted(parents)
    generations = _generations(inner)
    diagonal, sampling = np.ones(len(parents)), np.ones(len(parents))
    for done, generation in enumerate(generations[1:], start=1):
        rows = np.arange(generation.rows.start, generation.rows.stop)
        diagonal[rows], sampling[rows] = _from_parents(inner, rows, generations[:done], diagonal, sampling)
    everyone, spread = np.ones(len(pedigree.tags)), np.ones(len(pedigree.tags))
    everyone[parents], spread[parents] = diagonal, sampling
    leaves = np.flatnonzero(~np.isin(np.arange(len(everyone)), parents) & (np.diff(pedigree.parent_ptr) > 0))
    if len(leaves):
        moved = _moved(pedigree, leaves, parents)
        everyone[leaves], spread[leaves] = _from_parents(moved, None, generations, diagonal, sampling)
    return everyone, spread


def _moved(pedigree: Lineage, leaves: Ints, parents: Ints) -> Lineage:
    """The leaves alone, their parents numbered among the parents."""
    import numpy as np

    counts = np.diff(pedigree.parent_ptr)[leaves]
    ptr = np.concatenate([[0], np.cumsum(counts)])
    at = np.repeat(pedigree.parent_ptr[leaves] - ptr[:-1], counts) + np.arange(ptr[-1])
    parent = np.searchsorted(parents, pedigree.parent[at])
    dam_known = pedigree.dam_known[leaves]
    return Lineage(("",) * len(leaves), ptr, parent, pedigree.share[at], dam_known, pedigree.depth[leaves])


def _from_parents(
    pedigree: Lineage,
    rows: Ints | None,
    earlier: list[_Generation],
    diagonal: Floats,
    sampling: Floats,
) -> tuple[Floats, Floats]:
    """a[i, i] and D[i] of `rows` (None: all) from finished earlier generations."""
    import numpy as np

    rows = np.arange(len(pedigree.tags)) if rows is None else rows
    pairs = _parent_pairs(pedigree, rows)
    a = _pair_values(earlier, sampling, pairs.left, pairs.right)
    own = np.asarray(1.0 + np.bincount(pairs.animal, pairs.weight * a, minlength=len(rows)), dtype=float)
    explained = _own_squares(pedigree, rows, diagonal)
    explained += 2 * np.bincount(pairs.animal, pairs.product * a, minlength=len(rows))
    return own, own - explained


def _own_squares(pedigree: Lineage, rows: Ints, diagonal: Floats) -> Floats:
    """Sum over an animal's parents of share squared x a[parent, parent]."""
    import numpy as np

    ptr = pedigree.parent_ptr
    terms = np.concatenate([[0.0], np.cumsum(pedigree.share**2 * diagonal[pedigree.parent])])
    return np.asarray(terms[ptr[rows + 1]] - terms[ptr[rows]])


def _parent_pairs(pedigree: Lineage, rows: Ints) -> _Pairs:
    """Every two parents of each animal; most animals have one such pair."""
    import numpy as np

    first, counts = pedigree.parent_ptr[rows], np.diff(pedigree.parent_ptr)[rows]
    at: list[tuple[Any, ...]] = []
    for count in np.unique(counts[counts > 1]):
        owners = np.flatnonzero(counts == count)
        for i, j in combinations(range(count), 2):
            with_dam = (2.0 if i == 0 else 0.0) * pedigree.dam_known[rows[owners]]
            at.append((first[owners] + i, first[owners] + j, owners, with_dam))
    left, right, animal, with_dam = (np.concatenate(c) for c in zip(*at, strict=True)) if at else _no_pairs()
    left, right = left.astype(np.int64), right.astype(np.int64)
    product = pedigree.share[left] * pedigree.share[right]
    parent = pedigree.parent
    return _Pairs(parent[left], parent[right], animal.astype(np.int64), with_dam * product, product)


def _no_pairs() -> list[Any]:
    import numpy as np

    return [np.zeros(0)] * 4


def _pair_values(generations: list[_Generation], sampling: Floats, left: Ints, right: Ints) -> Floats:
    """a[left, right] for many pairs; full sibs ask once. Columns are taken for the side with fewer
    animals."""
    import numpy as np

    pairs, back = np.unique(left * (len(sampling) + 1) + right, return_inverse=True)
    left, right = pairs // (len(sampling) + 1), pairs % (len(sampling) + 1)
    if len(np.unique(left)) < len(np.unique(right)):
        left, right = right, left
    columns, column = np.unique(right, return_inverse=True)
    out = np.empty(len(left))
    order = np.argsort(column, kind="stable")
    cuts = np.searchsorted(column[order], np.arange(0, len(columns) + BLOCK, BLOCK))
    for k, (start, stop) in enumerate(pairwise(cuts)):
        mine = order[start:stop]
        block = _columns(generations, sampling, columns[k * BLOCK : (k + 1) * BLOCK])
        out[mine] = block[left[mine], column[mine] - k * BLOCK]
    return out[back]


def _columns(generations: list[_Generation], sampling: Floats, animals: Ints) -> Floats:
    """Columns of A for some animals, shape [rows of the generations given, len(animals)]."""
    import numpy as np

    size = generations[-1].rows.stop
    latest = int(animals.max(initial=-1))
    block = np.zeros((size, len(animals)))
    block[animals, np.arange(len(animals))] = 1
    for generation in reversed(generations[1:]):
        if generation.rows.start <= latest:
            block[generation.parents] += generation.up @ block[generation.rows]
    block *= sampling[:size, None]
    for generation in generations[1:]:
        block[generation.rows] += generation.down @ block[generation.parents]
    return block


def _generations(pedigree: Lineage) -> list[_Generation]:
    """Cut the pedigree by depth of descent."""
    import numpy as np

    starts = np.searchsorted(pedigree.depth, np.arange(pedigree.depth.max(initial=0) + 2))
    return [_generation(pedigree, slice(int(a), int(b))) for a, b in pairwise(starts)]


def _generation(pedigree: Lineage, rows: slice) -> _Generation:
    import numpy as np
    from scipy.sparse import csr_array

    ptr = pedigree.parent_ptr[rows.start : rows.stop + 1]
    mine = slice(int(ptr[0]), int(ptr[-1]))
    parents, place = np.unique(pedigree.parent[mine], return_inverse=True)
    shape = (rows.stop - rows.start, len(parents))
    down = csr_array((pedigree.share[mine], place, ptr - ptr[0]), shape=shape)
    return _Generation(rows, parents, down, down.T.tocsr())
