"""What stands against a cross: animals that would suffer or die, dams not to be bred; each with its basis."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product

from eggtooth.engine.facts import COMMON_PRACTICE, Source
from eggtooth.engine.facts.inheritance import Catalogue, Genotype, Locus, Rule
from eggtooth.engine.genetics.crosses import Cross
from eggtooth.engine.genetics.statement import Genotypes

BLOCK, WARN, NOTE = "block", "warn", "note"

LAW = (
    "Some places restrict keeping or breeding animals with an inherited defect: check the law where you "
    "live. For an animal that shows signs of illness, see a reptile vet."
)

Held = Mapping[Locus, Genotype]
Meets = Callable[[Held], bool]


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution on one cross. `p` is the chance that an egg (or the parent) is concerned.

    `reason` is the user's own for overriding it; a block without a reason keeps a pair out of plans.
    """

    id: str
    level: str
    text: str
    basis: tuple[Source, ...]
    p: Fraction
    reason: str = ""

    @property
    def blocks(self) -> bool:
        """Whether it still stands in the way."""
        return self.level == BLOCK and not self.reason


def cautions(cross: Cross, sire: Genotypes, dam: Genotypes, catalogue: Catalogue) -> tuple[Caution, ...]:
    """Every caution of the catalogue that concerns this pair, blocks first.

    Cost: for each rule the product of the genotypes at the few loci it speaks of.
    """
    found = []
    for rule in catalogue.rules:
        loci = concerned(rule, catalogue)
        meets = condition(rule, catalogue)
        p = (
            _of_eggs(cross, loci, meets)
            if rule.about == "offspring"
            else _of(sire if rule.about == "sire" else dam, loci, meets)
        )
        if p:
            found.append(Caution(rule.id, rule.level, rule.text, rule.basis, p))
    found.sort(key=lambda c: c.level != BLOCK)
    harmful = {rule.id for rule in catalogue.rules if rule.about == "offspring" and rule.level == BLOCK}
    if any(c.id in harmful for c in found):
        found.append(Caution("law", NOTE, LAW, (COMMON_PRACTICE,), Fraction(1)))
    return tuple(found)


def overridden(found: Iterable[Caution], reasons: Mapping[str, str]) -> tuple[Caution, ...]:
    """The cautions with the user's reasons. Raises `ValueError` for an empty reason: an override says why."""
    for name, reason in reasons.items():
        if not reason.strip():
            raise ValueError(f"to go against the caution {name!r}, give a reason")
    return tuple(replace(c, reason=reasons.get(c.id, "").strip()) for c in found)


def concerned(rule: Rule, catalogue: Catalogue) -> tuple[Locus, ...]:
    """The loci a rule speaks of."""
    genes = [*rule.genes, *(gene for pair in rule.together for gene in pair)]
    return tuple(dict.fromkeys(_home(gene, catalogue)[0] for gene in genes))


def condition(rule: Rule, catalogue: Catalogue) -> Meets:
    """Whether an animal with these genotypes is one the rule speaks of."""
    single = [_home(gene, catalogue) for gene in rule.genes]
    pairs = [[_home(gene, catalogue) for gene in pair] for pair in rule.together]

    def meets(held: Held) -> bool:
        if any(all(_copies(held, [gene]) for gene in pair) for pair in pairs):
            return True
        by_locus = {locus: [g for g in single if g[0] == locus] for locus, _ in single}
        return any(_copies(held, genes) >= rule.copies for genes in by_locus.values())

    return meets


def _home(gene: str, catalogue: Catalogue) -> tuple[Locus, int]:
    name = catalogue.aliases.get(gene, gene)
    locus = catalogue.locus_of(name)
    return locus, locus.index(name)


def _copies(held: Held, genes: Sequence[tuple[Locus, int]]) -> int:
    """Copies, at the one locus of these genes, of any of them."""
    locus = genes[0][0]
    wanted = {index for _, index in genes}
    return sum(allele in wanted for allele in held.get(locus, Genotype(0, 0)))


def _of_eggs(cross: Cross, loci: Sequence[Locus], meets: Meets) -> Fraction:
    """Chance over fertile eggs, those lost later included."""
    parts = [part for part in cross.loci if part.locus in loci]
    total = Fraction(0)
    for sex in cross.sexes:
        total += _over([(part.locus, part.table(sex)) for part in parts], meets)
    return total / len(cross.sexes)


def _of(animal: Genotypes, loci: Sequence[Locus], meets: Meets) -> Fraction:
    return _over([(locus, animal[locus]) for locus in loci if locus in animal], meets)


def _over(tables: Sequence[tuple[Locus, Mapping[Genotype, Fraction]]], meets: Meets) -> Fraction:
    total = Fraction(0)
    for choice in product(*(table.items() for _, table in tables)):
        held = {locus: g for (locus, _), (g, _) in zip(tables, choice, strict=True)}
        if meets(held):
            total += math.prod((p for _, p in choice), start=Fraction(1))
    return total
