"""The wish as conditions on genotypes, and heredity at its loci as small tables."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import product

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Fate, Genotype, Locus
from eggtooth.engine.genetics.many import wanted
from eggtooth.engine.genetics.statement import Statement
from eggtooth.engine.genetics.transmission import RECOMBINATION, offspring
from eggtooth.engine.wording import say

State = tuple[Genotype, ...]
"""An animal's genotypes at the loci of the wish, in their order; phased in a male at a sex-linked locus."""

Kind = frozenset[Genotype]
"""Unordered genotypes of one locus."""

SEXES = (Sex.MALE, Sex.FEMALE)


@dataclass(frozen=True)
class Wanted:
    """What is looked for among hatchlings: at each locus one of these genotypes, the sex, and how many."""

    kinds: tuple[Kind, ...]
    sex: Sex = Sex.UNKNOWN
    count: int = 1

    @property
    def sexes(self) -> tuple[Sex, ...]:
        """The sexes that will do."""
        return SEXES if self.sex is Sex.UNKNOWN else (self.sex,)


class GoalError(ValueError):
    """A wish no route can be looked for; the message says why."""


def goal_of(wish: Statement, count: int = 1) -> tuple[tuple[Locus, ...], Wanted]:
    """The loci a wish names, and the wish on them. Loci it does not name are free.

    Raises `GoalError` for a wish without genes, two sex-linked genes, or a copy on a stated chromosome.
    """
    found = wanted(wish)
    loci = tuple(sorted(found.loci, key=lambda locus: locus.name))
    linked = [locus.name for locus in loci if locus.sex_linked]
    if not loci:
        raise GoalError(
            say("the wish names no gene, so any animal will do; name what it should show or carry")
        )
    if len(linked) > 1:
        raise GoalError(
            say(
                "{genes} are both sex-linked: how far apart they lie is not known", genes=" and ".join(linked)
            )
        )
    if wish.maker:
        raise GoalError(
            say("routes cannot be looked for by {maker}; leave it out of the wish", maker=wish.maker)
        )
    return loci, Wanted(tuple(found.loci[locus] for locus in loci), found.sex, count)


@dataclass(frozen=True)
class Heredity:
    """What a pair's eggs hold at the loci of the wish; answers are remembered.

    `r` is the recombination fraction of male meiosis at a sex-linked locus. Loci are unlinked otherwise.
    """

    loci: tuple[Locus, ...]
    r: Fraction = RECOMBINATION
    _eggs: dict[tuple[int, Genotype, Genotype, Sex], dict[Genotype, float]] = field(default_factory=dict)
    _young: dict[tuple[State, State, Wanted], tuple[float, tuple[tuple[State, float], ...]]] = field(
        default_factory=dict
    )

    def __reduce__(self) -> tuple[object, ...]:
        """Without what is remembered."""
        return Heredity, (self.loci, self.r)

    def eggs(self, place: int, sire: Genotype, dam: Genotype, sex: Sex) -> dict[Genotype, float]:
        """Genotypes at one locus of eggs of a sex; those lost before hatching are left out of the sum."""
        key = (place, sire, dam, sex)
        if key not in self._eggs:
            locus, sure = self.loci[place], Fraction(1)
            made = offspring(locus, {sire: sure}, {dam: sure}, sex, self.r)
            self._eggs[key] = {g: float(p) for g, p in made.items() if locus.fate(g) is not Fate.LOST}
        return self._eggs[key]

    def young(self, sire: State, dam: State, seeks: Wanted) -> tuple[float, tuple[tuple[State, float], ...]]:
        """Chance that a fertile egg hatches as sought, and the genotypes of such a hatchling.

        Of the two sexes when either will do the genotypes are mixed. Cost: product of genotypes over loci.
        """
        key = (sire, dam, seeks)
        if key not in self._young:
            made: dict[State, float] = {}
            for sex in seeks.sexes:
                for state, p in self._matching(sire, dam, sex, seeks.kinds):
                    made[state] = made.get(state, 0.0) + p / 2
            total = math.fsum(made.values())
            self._young[key] = total, tuple((s, p / total) for s, p in made.items() if p)
        return self._young[key]

    def chance(self, sire: State, dam: State, seeks: Wanted) -> float:
        """Chance that a fertile egg hatches as sought."""
        return self.young(sire, dam, seeks)[0]

    def _matching(
        self, sire: State, dam: State, sex: Sex, kinds: tuple[Kind, ...]
    ) -> Iterator[tuple[State, float]]:
        rows = [
            [(g, p) for g, p in self.eggs(i, sire[i], dam[i], sex).items() if unordered(g) in kind]
            for i, kind in enumerate(kinds)
        ]
        for choice in product(*rows):
            yield tuple(g for g, _ in choice), math.prod(p for _, p in choice)


def unordered(g: Genotype) -> Genotype:
    """The genotype without its phase."""
    return g if g.a <= g.b else Genotype(g.b, g.a)


def wanted_alleles(kind: Kind) -> frozenset[int]:
    """Alleles other than the wild type that a wish holds at a locus."""
    return frozenset(a for g in kind for a in g if a)
