"""One pair: exact odds of looks, sexes and hidden genes in each egg.

The loci are independent given the sex, so a cross is kept as one small table for each locus; the product over
loci is walked only as far as somebody asks (`engine.genetics.outcomes`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Fate, Genotype, Locus, Look
from eggtooth.engine.genetics.statement import HALF, ONE, Genotypes, Odds
from eggtooth.engine.genetics.transmission import RECOMBINATION, offspring
from eggtooth.engine.wording import say

WILD_TYPE: Odds = {Genotype(0, 0): ONE}
SEXES = (Sex.FEMALE, Sex.MALE)


class CrossError(ValueError):
    """A cross that cannot be computed; the message says why."""


@dataclass(frozen=True, slots=True)
class LookClass:
    """Eggs alike at one locus: same look, same fate. `p` is given the sex, `genotypes` given the class."""

    locus: Locus
    look: Look
    fate: Fate
    p: Fraction
    genotypes: Mapping[Genotype, Fraction]

    def carries(self) -> dict[str, Fraction]:
        """Chance of each allele that is held and not shown."""
        odds: dict[str, Fraction] = {}
        for g, p in self.genotypes.items():
            for allele in self.locus.hidden(g):
                name = self.locus.alleles[allele - 1].name
                odds[name] = odds.get(name, Fraction(0)) + p
        return odds


@dataclass(frozen=True)
class LocusCross:
    """One locus of a cross: genotypes of the zygotes of each sex (one table for both when autosomal)."""

    locus: Locus
    tables: Mapping[Sex, Mapping[Genotype, Fraction]]

    def table(self, sex: Sex) -> Mapping[Genotype, Fraction]:
        """Genotypes given the sex; sums to 1, losses included."""
        return self.tables.get(sex) or self.tables[Sex.UNKNOWN]

    def classes(self, sex: Sex, *, apart: bool = False) -> tuple[LookClass, ...]:
        """Look classes that hatch, likeliest first; their odds sum to 1 less the losses.

        `apart` makes each genotype a class of its own.
        """
        return (self._genotypes if apart else self._classes)[sex if sex in self.tables else Sex.UNKNOWN]

    def hatches(self, sex: Sex) -> Fraction:
        """Chance that an egg of this sex is not lost through this locus."""
        return sum((c.p for c in self.classes(sex)), Fraction(0))

    @cached_property
    def _classes(self) -> dict[Sex, tuple[LookClass, ...]]:
        return {sex: _classed(self.locus, table) for sex, table in self.tables.items()}

    @cached_property
    def _genotypes(self) -> dict[Sex, tuple[LookClass, ...]]:
        apart = {sex: [{g: p} for g, p in sorted(table.items())] for sex, table in self.tables.items()}
        return {
            sex: tuple(sorted((c for t in tables for c in _classed(self.locus, t)), key=lambda c: -c.p))
            for sex, tables in apart.items()
        }


@dataclass(frozen=True)
class Cross:
    """All loci of one pair. `sexed` when a sex-linked gene is in play; `exact` when no input was a float."""

    loci: tuple[LocusCross, ...]
    sexed: bool
    exact: bool = True

    @property
    def sexes(self) -> tuple[Sex, ...]:
        """Sexes told apart: both when sexed, else the one entry `Sex.UNKNOWN`."""
        return SEXES if self.sexed else (Sex.UNKNOWN,)

    @cached_property
    def hatches(self) -> Fraction:
        """Chance that an egg is not lost before hatching."""
        each = (math.prod((part.hatches(sex) for part in self.loci), start=ONE) for sex in self.sexes)
        return sum(each, Fraction(0)) / len(self.sexes)

    @property
    def lost(self) -> Fraction:
        """Chance that an egg is lost before hatching through its genotype."""
        return 1 - self.hatches

    def looks_count(self) -> int:
        """How many outcomes (looks by sex, by fate) there are, without making them."""
        return sum(math.prod(len(part.classes(sex)) for part in self.loci) for sex in self.sexes)

    def chance(self, wanted: Mapping[Locus, Iterable[Genotype]], sex: Sex = Sex.UNKNOWN) -> Fraction:
        """Chance that an egg hatches with, at each locus named, one of the genotypes named.

        `sex` restricts it to hatchlings of that sex. Loci not in the cross are wild type.
        Cost: the genotypes of each locus once; nothing is enumerated.
        """
        if sex is not Sex.UNKNOWN:
            return self._chance(wanted, sex) / 2
        return sum((self._chance(wanted, s) for s in self.sexes), Fraction(0)) / len(self.sexes)

    def _chance(self, wanted: Mapping[Locus, Iterable[Genotype]], sex: Sex) -> Fraction:
        here = {part.locus for part in self.loci}
        odds = ONE
        for locus, genotypes in wanted.items():
            if locus not in here and Genotype(0, 0) not in set(genotypes):
                return Fraction(0)
        for part in self.loci:
            odds *= _locus_chance(part, wanted.get(part.locus), sex)
        return odds


def _locus_chance(part: LocusCross, wanted: Iterable[Genotype] | None, sex: Sex) -> Fraction:
    if wanted is None:
        return part.hatches(sex)
    table = part.table(sex)
    return sum(
        (table.get(g, Fraction(0)) for g in set(wanted) if part.locus.fate(g) is not Fate.LOST), Fraction(0)
    )


def cross(sire: Genotypes, dam: Genotypes, r: Fraction = RECOMBINATION) -> Cross:
    """The cross of two animals, each a distribution over genotypes locus by locus (left out: wild type).

    `r` is the recombination fraction of male meiosis on the sex chromosomes. Floats are taken at their exact
    binary value and scaled to sum to 1; `exact` is then False. Raises `CrossError` when odds do not sum to 1,
    or when two sex-linked loci are in play (their distance is not known). Cost: n² of the alleles at a locus.
    """
    his, hers = _checked(sire, "sire"), _checked(dam, "dam")
    loci = sorted({*his, *hers}, key=lambda locus: locus.name)
    parts = tuple(_part(locus, his.get(locus, WILD_TYPE), hers.get(locus, WILD_TYPE), r) for locus in loci)
    parts = tuple(p for p in parts if any(set(t) != {Genotype(0, 0)} for t in p.tables.values()))
    linked = [p.locus.name for p in parts if p.locus.sex_linked]
    if len(linked) > 1:
        raise CrossError(
            say(
                "{genes} are both sex-linked: how far apart they lie is not known", genes=" and ".join(linked)
            )
        )
    exact = all(_is_exact(side) for side in (sire, dam)) and not isinstance(r, float)
    return Cross(parts, bool(linked), exact)


def _part(locus: Locus, sire: Odds, dam: Odds, r: Fraction) -> LocusCross:
    sexes = SEXES if locus.sex_linked else (Sex.UNKNOWN,)
    return LocusCross(locus, {sex: offspring(locus, sire, dam, sex, Fraction(r)) for sex in sexes})


def _checked(animal: Genotypes, who: str) -> dict[Locus, dict[Genotype, Fraction]]:
    checked = {}
    for locus, odds in animal.items():
        kept = {g: Fraction(p) for g, p in odds.items() if p}
        total = sum(kept.values(), Fraction(0))
        if abs(total - 1) > Fraction(1, 10**6) or any(p < 0 for p in kept.values()):
            raise CrossError(
                say(
                    "odds of the {who} at {name} sum to {total:g}, not 1",
                    who=who,
                    name=locus.name,
                    total=float(total),
                )
            )
        checked[locus] = {g: p / total for g, p in kept.items()}
    return checked


def _is_exact(animal: Genotypes) -> bool:
    return not any(isinstance(p, float) for odds in animal.values() for p in odds.values())


def _classed(locus: Locus, table: Mapping[Genotype, Fraction]) -> tuple[LookClass, ...]:
    groups: dict[tuple[Look, Fate], dict[Genotype, Fraction]] = {}
    for g, p in table.items():
        if locus.fate(g) is not Fate.LOST:
            groups.setdefault((locus.look(g), locus.fate(g)), {})[g] = p
    made = [_look_class(locus, look, fate, group) for (look, fate), group in groups.items()]
    return tuple(sorted(made, key=lambda c: (-c.p, c.look, c.fate)))


def _look_class(locus: Locus, look: Look, fate: Fate, group: Mapping[Genotype, Fraction]) -> LookClass:
    p = sum(group.values(), Fraction(0))
    return LookClass(locus, look, fate, p, {g: q / p for g, q in group.items()})


def given_look(
    locus: Locus, sire: Odds, dam: Odds, look: Look, sex: Sex, r: Fraction = RECOMBINATION
) -> dict[Genotype, Fraction]:
    """Genotypes of a hatchling of this pair that shows `look`; empty when the pair cannot make it.

    Answers which chromosome a banana son of two banana parents carries it on.
    """
    table = offspring(locus, sire, dam, sex, r)
    fit = {g: p for g, p in table.items() if locus.look(g) == look and locus.fate(g) is not Fate.LOST}
    total = sum(fit.values(), Fraction(0))
    return {g: p / total for g, p in fit.items()}


__all__ = ["HALF", "Cross", "CrossError", "LocusCross", "LookClass", "cross", "given_look"]
