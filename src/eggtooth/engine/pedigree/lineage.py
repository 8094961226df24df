"""Who descends from whom, as arrays in which every parent stands before its offspring."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.colony import Animal

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]


class CircularDescent(ValueError):
    """An animal is its own ancestor; `tags` are the animals on or below the circle."""

    def __init__(self, tags: Sequence[str]) -> None:
        """Name the animals (the first few)."""
        self.tags = tuple(tags)
        super().__init__(f"these animals descend from themselves: {', '.join(self.tags[:8])}")


@dataclass(frozen=True)
class Lineage:
    """A pedigree of n animals sorted by generation depth (founders first; stable otherwise).

    `tags` [n]; `parent_ptr` [n+1], `parent` [m] and `share` [m] list each animal's parents like the rows of a
    sparse matrix: the dam with share 1/2, every candidate sire with half its probability (shares of one
    parent sum to 1/2); unknown parents are absent and a known dam stands first. `dam_known` [n] says whether
    there is one.
    `depth` [n] is the longest path from a founder.
    """

    tags: tuple[str, ...]
    parent_ptr: Ints
    parent: Ints
    share: Floats
    dam_known: Bools
    depth: Ints

    @cached_property
    def position(self) -> Mapping[str, int]:
        """Row of each tag."""
        return {tag: i for i, tag in enumerate(self.tags)}

    @cached_property
    def matrix(self) -> Any:
        """Sparse [n, n] matrix of shares: row = offspring, column = parent."""
        from scipy.sparse import csr_array

        n = len(self.tags)
        return csr_array((self.share, self.parent, self.parent_ptr), shape=(n, n))

    def rows(self, tags: Iterable[str]) -> Ints:
        """Rows of some tags; `KeyError` names an unknown one."""
        import numpy as np

        return np.array([self.position[t] for t in tags], dtype=np.int64)

    def with_ancestors(self, rows: Ints) -> Ints:
        """Rows of the given animals and all their ancestors, ascending. Cost: one pass over the pedigree."""
        import numpy as np

        wanted = np.zeros(len(self.tags), dtype=bool)
        wanted[rows] = True
        for row in range(int(rows.max(initial=-1)), -1, -1) if len(rows) else ():
            if wanted[row]:
                wanted[self.parent[self.parent_ptr[row] : self.parent_ptr[row + 1]]] = True
        return np.flatnonzero(wanted)

    def restricted(self, rows: Ints) -> Lineage:
        """The same pedigree with only `rows` (ascending, closed under ancestry)."""
        import numpy as np

        new = np.full(len(self.tags), -1)
        new[rows] = np.arange(len(rows))
        counts = np.diff(self.parent_ptr)[rows]
        ptr = np.concatenate([[0], np.cumsum(counts)])
        at = np.repeat(self.parent_ptr[rows] - ptr[:-1], counts) + np.arange(ptr[-1])
        names = tuple(self.tags[i] for i in rows)
        return Lineage(
            names, ptr, new[self.parent[at]], self.share[at], self.dam_known[rows], self.depth[rows]
        )


def lineage(
    animals: Mapping[str, Animal], sire_odds: Mapping[str, Mapping[str, float]] | None = None
) -> Lineage:
    """Build the lineage of a colony. Parents that are not in `animals` count as unknown.

    `sire_odds[tag]` gives probabilities of candidate sires of that animal; without it the recorded candidates
    count equally. Raises `CircularDescent`. Cost: linear in animals and parent links times the depth of the
    pedigree.
    """
    odds = sire_odds or {}
    rows, dams = [], []
    for tag, animal in animals.items():
        sires = odds.get(tag) or {s: 1 / len(animal.sires) for s in animal.sires}
        links = [(s, 0.5 * p) for s, p in sires.items() if s in animals and p > 0]
        dams.append(animal.dam in animals)
        rows.append([(animal.dam, 0.5), *links] if dams[-1] else links)
    return from_links(tuple(animals), rows, dams)


def from_links(
    tags: Sequence[str], links: Sequence[Sequence[tuple[str, float]]], dam_known: Sequence[bool]
) -> Lineage:
    """Build a lineage from each animal's (parent tag, share) list, dam first; see `Lineage`."""
    import numpy as np

    position = {tag: i for i, tag in enumerate(tags)}
    counts = np.array([len(row) for row in links], dtype=np.int64)
    parent = np.array([position[p] for row in links for p, _ in row], dtype=np.int64)
    share = np.array([s for row in links for _, s in row], dtype=np.float64)
    return sorted_lineage(tags, counts, parent, share, np.array(dam_known, dtype=bool))


def sorted_lineage(
    tags: Sequence[str], counts: Ints, parent: Ints, share: Floats, dam_known: Bools
) -> Lineage:
    """Sort parents before offspring; `counts` [n] parents of each animal, the rest as in `Lineage`.

    Raises `CircularDescent`.
    """
    import numpy as np

    child = np.repeat(np.arange(len(tags)), counts)
    depth = _depths(tags, child, parent)
    order = np.argsort(depth, kind="stable")
    new = np.empty_like(order)
    new[order] = np.arange(len(order))
    ptr = np.concatenate([[0], np.cumsum(counts)])
    new_ptr = np.concatenate([[0], np.cumsum(counts[order])])
    at = np.repeat(ptr[:-1][order] - new_ptr[:-1], counts[order]) + np.arange(new_ptr[-1])
    names = tuple(tags[i] for i in order)
    return Lineage(names, new_ptr, new[parent[at]], share[at], dam_known[order], depth[order])


def _depths(tags: Sequence[str], child: Ints, parent: Ints) -> Ints:
    """Longest path from a founder, level by level: an animal is done when all its parents are."""
    import numpy as np

    depth = np.zeros(len(tags), dtype=np.int64)
    waiting = np.bincount(child, minlength=len(tags))
    order = np.argsort(parent, kind="stable")
    by_parent, starts = child[order], np.searchsorted(parent[order], np.arange(len(tags) + 1))
    front, level, done = np.flatnonzero(waiting == 0), 0, 0
    while len(front):
        depth[front] = level
        done += len(front)
        counts = starts[front + 1] - starts[front]
        at = np.repeat(starts[front] - np.cumsum(counts) + counts, counts) + np.arange(counts.sum())
        np.subtract.at(waiting, by_parent[at], 1)
        touched = np.unique(by_parent[at])
        front, level = touched[waiting[touched] == 0], level + 1
    if done < len(tags):
        raise CircularDescent([tags[i] for i in np.flatnonzero(waiting > 0).tolist()])
    return depth
