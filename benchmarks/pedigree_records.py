"""The random colony as a keeper's records: texts in trade notation, clutches, sexes."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from benchmarks.pedigree_colony import Bred
from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.facts.catalogue import catalogue
from eggtooth.engine.facts.inheritance import Allele, Catalogue, Locus, Mode

MORE = "\n".join(
    f'[[gene]]\nname = "Own {i}"\nmode = "{m}"'
    for i, m in enumerate(["recessive", "incomplete dominant"] * 24)
)


def genes_for(bred: Bred) -> tuple[Catalogue, list[Locus]]:
    """A catalogue with some genes of the user's own, and an autosomal locus of the right mode for every
    column."""
    known = catalogue(MORE)
    plain = [locus for locus in known.loci if not locus.sex_linked and not locus.lines]
    recessive = [locus for locus in plain if locus.alleles[0].mode is Mode.RECESSIVE]
    visible = [locus for locus in plain if locus.alleles[0].mode is Mode.INCOMPLETE]
    return known, [(recessive if r else visible).pop() for r in bred.recessive.tolist()]


def records(bred: Bred, loci: list[Locus]) -> Colony:
    """The colony as recorded."""
    founders = len(bred.prior)
    alleles = [locus.alleles[0] for locus in loci]
    return Colony.of(_animal(bred, alleles, row, founders) for row in range(len(bred.sire)))


def tag_of(row: int) -> str:
    """Males even, females odd."""
    return f"{'MF'[row % 2]}{row:05d}"


def _animal(bred: Bred, alleles: list[Allele], row: int, founders: int) -> Animal:
    sex = Sex("MF"[row % 2])
    if row < founders:
        return Animal(tag_of(row), sex, genes=_founder(bred, alleles, row))
    looks = [_look(a, c) for a, c in zip(alleles, bred.copies[row].tolist(), strict=True)]
    text = " ".join(filter(None, looks)) or "Normal"
    sire, dam = int(bred.sire[row]), int(bred.dam[row])
    clutch = f"C{dam}-{row // 10_000}-{sire}"
    genes = text if bred.looked[row] else ""
    return Animal(tag_of(row), sex, genes=genes, sires=(tag_of(sire),), dam=tag_of(dam), clutch=clutch)


def _founder(bred: Bred, alleles: list[Allele], row: int) -> str:
    shown, hidden = [], []
    for allele, prior in zip(alleles, bred.prior[row], strict=True):
        if prior[2] == 1:
            shown.append(_look(allele, 2))
        elif prior[1] > 0 and allele.mode is not Mode.RECESSIVE:
            shown.append(_look(allele, 1))
        elif prior[1] > 0:
            p = Fraction(float(prior[1])).limit_denominator(10)
            hidden.append(f"het {allele.name}" if p == 1 else f"{int(100 * p)}% het {allele.name}")
    return " ".join([*(shown or ["Normal"]), *hidden])


def _look(allele: Allele, copies: int) -> str:
    if copies == 0 or (copies == 1 and not allele.shows_once):
        return ""
    return " ".join(allele.look_once if copies == 1 else allele.look_twice)


def true_copies(bred: Bred) -> np.ndarray:
    """Copies [n, L], for comparing."""
    return bred.copies
