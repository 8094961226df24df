"""Animals a route may pair, many at once, as arrays: what each hands on, how surely it is there, its kin."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Fate, Locus
from eggtooth.engine.genetics.transmission import gametes, survives, transmission
from eggtooth.engine.planning.generations.chances import InHand
from eggtooth.engine.planning.generations.goal import Kind, State, Wanted, unordered, wanted_alleles
from eggtooth.engine.planning.generations.stock import Kin, Stock, shares
from eggtooth.engine.planning.generations.structure import Founder, Parent

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

NOT_CARRIED = 0.03
"""What a locus counts towards an animal's promise when it hands on nothing of the wish there: not nothing,
since another animal may bring that gene."""


@dataclass(frozen=True)
class Candidate:
    """An animal with its odds at each locus given that it is in hand, and the chance that it is."""

    parent: Parent
    season: int
    p: float
    odds: tuple[tuple[State, float], ...]


def founder(animal: Founder) -> Candidate:
    """A founder as a candidate: surely there."""
    return Candidate(animal, animal.season, 1.0, animal.odds)


def held_back(parent: Parent, season: int, found: InHand) -> Candidate | None:
    """A young animal as a candidate; None when it can never be."""
    weights: dict[State, float] = {}
    for group, done in found.items():
        weights[group[0]] = weights.get(group[0], 0.0) + math.fsum(done)
    p = math.fsum(weights.values())
    return Candidate(parent, season, p, tuple((s, w / p) for s, w in weights.items())) if p > 0 else None


@dataclass(frozen=True)
class Tables:
    """Heredity at the loci of the wish as arrays, for both sexes of child."""

    loci: tuple[Locus, ...]
    wish: Wanted
    r: float

    def passed(self, place: int, child: Sex) -> Floats:
        """[sire, dam, child]: zygotes that hatch."""
        locus = self.loci[place]
        table = transmission(locus, child, self.r)
        kept: Floats = table * survives(locus, male=child is Sex.MALE)
        return kept

    def mask(self, place: int, kind: Kind, *, male: bool) -> Floats:
        """1.0 for the genotypes of a kind."""
        import numpy as np

        genotypes = self.loci[place].genotypes(male=male)
        return np.array([unordered(g) in kind for g in genotypes], dtype=float)

    def promise(self, place: int, *, male: bool) -> Floats:
        """For each genotype the chance that a gamete holds an allele the wish asks for, but never nothing."""
        import numpy as np

        locus = self.loci[place]
        alleles = wanted_alleles(self.wish.kinds[place])
        table = gametes(locus, male=male, child=Sex.FEMALE, r=self.r)
        if locus.sex_linked and male:
            table = np.maximum(table, gametes(locus, male=True, child=Sex.MALE, r=self.r))
        given = table[:, sorted(alleles)].sum(axis=1)
        dies = np.array([locus.fate(g) is Fate.DIES for g in locus.genotypes(male=male)])
        return np.where(dies, 0.0, NOT_CARRIED + (1 - NOT_CARRIED) * np.minimum(given, 1.0))


@dataclass(frozen=True)
class Side:
    """Candidates of one sex, stacked."""

    candidates: tuple[Candidate, ...]
    male: bool
    tables: Tables

    @cached_property
    def p(self) -> Floats:
        """Chance that each is there."""
        import numpy as np

        return np.array([c.p for c in self.candidates])

    @cached_property
    def seasons(self) -> NDArray[np.int64]:
        """Earliest season each can breed in."""
        import numpy as np

        return np.array([c.season for c in self.candidates], dtype=np.int64)

    @cached_property
    def odds(self) -> tuple[Floats, ...]:
        """For each locus [candidate, genotype]."""
        import numpy as np

        stacked = []
        for place, locus in enumerate(self.tables.loci):
            order = {g: i for i, g in enumerate(locus.genotypes(male=self.male))}
            table = np.zeros((len(self.candidates), len(order)))
            for row, candidate in enumerate(self.candidates):
                for state, p in candidate.odds:
                    table[row, order[state[place]]] += p
            stacked.append(table)
        return tuple(stacked)

    @cached_property
    def promises(self) -> Floats:
        """For each candidate what it promises, before the chance that it is there."""
        import numpy as np

        each = [odds @ self.tables.promise(i, male=self.male) for i, odds in enumerate(self.odds)]
        return np.asarray(np.prod(each, axis=0))

    def descent(self, tags: Sequence[str]) -> Floats:
        """[candidate, founder]: shares of genes."""
        import numpy as np

        place = {tag: i for i, tag in enumerate(tags)}
        table = np.zeros((len(self.candidates), len(tags)))
        for row, candidate in enumerate(self.candidates):
            for tag, share in shares(candidate.parent)[0].items():
                table[row, place[tag]] = share
        return table


def kinships(tags: Sequence[str], kin: Kin) -> Floats:
    """Kinship of all founders with all. Cost: half the square of their number."""
    import numpy as np

    table = np.zeros((len(tags), len(tags)))
    for i, a in enumerate(tags):
        for j, b in enumerate(tags[: i + 1]):
            table[i, j] = table[j, i] = kin(a, b)
    return table


def chosen(stock: Stock, tables: Tables, most: int) -> Stock:
    """At most about so many founders of each sex: the most promising, the best at each locus, some of each.

    Animals of the same odds and season are alike but for kin, so no more than a few of each stay.
    """
    return Stock(
        _chosen(stock.males, tables, most, male=True),
        _chosen(stock.females, tables, most, male=False),
        stock.left_out,
    )


ALIKE = 4


def _chosen(animals: Sequence[Founder], tables: Tables, most: int, *, male: bool) -> tuple[Founder, ...]:
    import numpy as np

    some: list[Founder] = []
    alike: dict[object, int] = {}
    for animal in animals:
        key = (animal.season, animal.odds)
        alike[key] = alike.get(key, 0) + 1
        if alike[key] <= ALIKE:
            some.append(animal)
    if len(some) <= most:
        return tuple(some)
    side = Side(tuple(map(founder, some)), male, tables)
    by_locus = [odds @ tables.promise(i, male=male) for i, odds in enumerate(side.odds)]
    ranks = [np.argsort(-score, kind="stable") for score in (side.promises, *by_locus)]
    ranks += [np.argsort(side.promises * (side.seasons == 1) * -1, kind="stable")]
    picked: dict[int, None] = {}
    for k in range(len(some)):
        picked.update(dict.fromkeys(int(rank[k]) for rank in ranks))
        if len(picked) >= most:
            break
    return tuple(some[i] for i in sorted(picked))
