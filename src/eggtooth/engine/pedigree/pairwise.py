"""Kinship of single pairs by recursion: for a few pairs of a colony without laying out its whole matrix.

Kinship k(i, j) = (k(j, dam i) + sum over sires s of p_s k(j, s)) / 2 with i not an ancestor of j, and
k(i, i) = (1 + sum p_s k(dam i, s)) / 2; unknown parents are unrelated. Candidate sires count equally,
which is the average numerator relationship of Henderson 1988 (J. Anim. Sci. 66:1614-1621). Source of the
recursion: Lange 2010, Applied Probability, ch. 5.
"""

from __future__ import annotations

from collections.abc import Mapping

from eggtooth.engine.colony import Animal
from eggtooth.engine.pedigree.lineage import CircularDescent


class PairKinship:
    """Kinship pair by pair, remembering what was worked out on the way.

    Cost of a pair: at most the product of the numbers of ancestors of the two. Raises `CircularDescent` for
    an animal among its own ancestors.
    """

    def __init__(self, animals: Mapping[str, Animal]) -> None:
        """`animals` by tag; parents that are not among them are unknown."""
        self._animals = animals
        self._depth: dict[str, int] = {}
        self._known: dict[tuple[str, str], float] = {}

    def __call__(self, a: str, b: str) -> float:
        """Kinship of two animals by their tags."""
        if (self.depth(a), a) < (self.depth(b), b):
            a, b = b, a
        if (a, b) not in self._known:
            self._known[a, b] = self._own(a) if a == b else self._through_parents(a, b)
        return self._known[a, b]

    def depth(self, tag: str, below: frozenset[str] = frozenset()) -> int:
        """Generations of recorded ancestors above an animal."""
        if tag in below:
            raise CircularDescent([*below, tag])
        if tag not in self._depth:
            above = [self.depth(p, below | {tag}) for p, _ in self._parents(tag)]
            self._depth[tag] = 1 + max(above, default=-1)
        return self._depth[tag]

    def _own(self, a: str) -> float:
        dam = self._animals[a].dam
        if dam not in self._animals:
            return 0.5
        sires = [(p, share) for p, share in self._parents(a) if p != dam]
        return 0.5 + sum(share * self(dam, sire) for sire, share in sires)

    def _through_parents(self, a: str, b: str) -> float:
        return sum(share * self(parent, b) for parent, share in self._parents(a))

    def _parents(self, tag: str) -> list[tuple[str, float]]:
        animal = self._animals[tag]
        known = [(s, 0.5 / len(animal.sires)) for s in animal.sires if s in self._animals]
        return [(animal.dam, 0.5), *known] if animal.dam in self._animals else known
