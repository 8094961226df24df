"""One locus as the records of a colony need it: cut down to the alleles anybody names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from eggtooth.engine.facts.inheritance import Genotype as Written
from eggtooth.engine.facts.inheritance import Locus
from eggtooth.engine.pedigree.segregation import Segregation


@dataclass(frozen=True, eq=False)
class LocusModel:
    """A locus cut down to the alleles in play. `alleles[i]`: catalogue index of allele i; `written`: the
    genotypes."""

    locus: Locus
    alleles: tuple[int, ...]
    segregation: Segregation

    @cached_property
    def written(self) -> tuple[Written, ...]:
        """Each genotype with catalogue indices; a sex-linked male's in the order X, Y."""
        return tuple(
            self.locus.genotype(
                self.alleles[a], self.alleles[b], male=self.segregation.sex_linked and bool(male)
            )
            for (a, b), male in zip(self.segregation.genotypes, self.segregation.can_sire, strict=True)
        )

    @cached_property
    def states(self) -> tuple[Mapping[Written, int], Mapping[Written, int]]:
        """Index of each written genotype, for females and for males."""
        s = self.segregation
        male = {w: i for i, w in enumerate(self.written) if not s.sex_linked or s.can_sire[i]}
        female = {w: i for i, w in enumerate(self.written) if not s.sex_linked or s.can_dam[i]}
        return female, male
