"""What a parent hands on: gametes exactly, and the same as arrays for work over many animals."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Fate, Genotype, Locus
from eggtooth.engine.facts.linkage import MALE_RECOMBINATION
from eggtooth.engine.genetics.statement import HALF, Odds

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

RECOMBINATION = Fraction(str(MALE_RECOMBINATION.value))
"""Default recombination fraction in male meiosis; a working assumption, see `facts.linkage`."""


def handed_on(locus: Locus, odds: Odds, child: Sex, r: Fraction, *, male: bool) -> list[Fraction]:
    """Chance of each allele in a gamete of a parent that will make a `child` of that sex; sums to 1.

    For a sire (`male`) at a sex-linked locus, daughters take his X and sons his Y, each with the other
    chromosome's allele with probability `r`; everywhere else each allele goes with one half.
    """
    stays = 1 - r if male and locus.sex_linked else HALF
    passed = [Fraction(0)] * locus.size
    for (x, y), p in odds.items():
        near, far = (y, x) if child is Sex.MALE else (x, y)
        passed[near] += p * stays
        passed[far] += p * (1 - stays)
    return passed


def offspring(
    locus: Locus, sire: Odds, dam: Odds, child: Sex = Sex.UNKNOWN, r: Fraction = RECOMBINATION
) -> dict[Genotype, Fraction]:
    """Genotypes of the zygotes of one sex (before any loss); sums to 1. `child` matters only when sex-linked.

    Sons at a sex-linked locus are phased: the dam's allele on X, the sire's on Y.
    """
    his = handed_on(locus, sire, child, r, male=True)
    hers = handed_on(locus, dam, child, r, male=False)
    made: dict[Genotype, Fraction] = {}
    for a, p in enumerate(hers):
        for b, q in enumerate(his):
            if p and q:
                g = locus.genotype(a, b, male=child is Sex.MALE)
                made[g] = made.get(g, Fraction(0)) + p * q
    return made


@lru_cache(maxsize=512)
def gametes(locus: Locus, *, male: bool, child: Sex, r: float = float(RECOMBINATION)) -> Floats:
    """Array [genotype of the parent, allele handed on to a child of that sex]; rows sum to 1.

    Rows follow `locus.genotypes(male=male)`. Read-only.
    """
    import numpy as np

    rows = locus.genotypes(male=male)
    stays = 1 - r if male and locus.sex_linked else 0.5
    passed = np.zeros((len(rows), locus.size))
    for i, (x, y) in enumerate(rows):
        near, far = (y, x) if child is Sex.MALE else (x, y)
        passed[i, near] += stays
        passed[i, far] += 1 - stays
    passed.flags.writeable = False
    return passed


@lru_cache(maxsize=512)
def transmission(locus: Locus, child: Sex, r: float = float(RECOMBINATION)) -> Floats:
    """Array [sire, dam, child] of P(genotype of a zygote of that sex | parents' genotypes), before any loss.

    Axes follow `locus.genotypes(male=...)`: the sire's True, the dam's False, the child's by its sex (for an
    autosomal locus all three are the same). Sums to 1 over the last axis. Read-only. Cost: G² n²
    once a locus.
    """
    import numpy as np

    son = child is Sex.MALE
    his = gametes(locus, male=True, child=child, r=r)
    hers = gametes(locus, male=False, child=child, r=r)
    order = {g: i for i, g in enumerate(locus.genotypes(male=son))}
    table = np.zeros((len(his), len(hers), len(order)))
    for a in range(locus.size):
        for b in range(locus.size):
            table[:, :, order[locus.genotype(a, b, male=son)]] += his[:, None, b] * hers[None, :, a]
    table.flags.writeable = False
    return table


@lru_cache(maxsize=512)
def look_index(locus: Locus, *, male: bool = False) -> NDArray[np.intp]:
    """For each genotype the index of its look in `locus.looks()`. Read-only."""
    import numpy as np

    looks = locus.looks()
    found = np.array([looks.index(locus.look(g)) for g in locus.genotypes(male=male)], dtype=np.intp)
    found.flags.writeable = False
    return found


@lru_cache(maxsize=512)
def survives(locus: Locus, *, male: bool = False) -> Floats:
    """For each genotype 1.0, or 0.0 where it is lost before hatching. Read-only."""
    import numpy as np

    kept = np.array([locus.fate(g) is not Fate.LOST for g in locus.genotypes(male=male)], dtype=np.float64)
    kept.flags.writeable = False
    return kept
