"""The random colony as a keeper's records: texts in trade notation, clutches, sexes."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from benchmarks.pedigree_colony import Bred
from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.facts.catalogue import catalogue
from eggtooth.engine.facts.inheritance import Allele, Catalogue, Locus, Mode

OWN = ["recessive", "incomplete dominant"] * 24 + ["dominant"] * 8
MORE = "\n".join(f'[[gene]]\nname = "Own {i}"\nmode = "{m}"' for i, m in enumerate(OWN))


def genes_for(bred: Bred) -> tuple[Catalogue, list[Locus]]:
    """A catalogue with some genes of the user's own, and an autosomal locus of the right mode for every
    column."""
    known = catalogue(MORE)
    plain = [locus for locus in known.loci if not locus.sex_linked and not locus.lines]
    by_mode = {m: [locus for locus in plain if locus.alleles[0].mode is m] for m in Mode}
    modes = [
        Mode.RECESSIVE if r else Mode.DOMINANT if d else Mode.INCOMPLETE
        for r, d in zip(bred.recessive.tolist(), bred.dominant.tolist(), strict=True)
    ]
    return known, [by_mode[m].pop() for m in modes]


def records(bred: Bred, loci: list[Locus]) -> Colony:
    """The colony as recorded."""
    founders = len(bred.prior)
    alleles = [locus.alleles[0] for locus in loci]
    return Colony.of(_animal(bred, alleles, row, founders) for row in range(len(bred.sire)))


def tags(bred: Bred) -> list[str]:
    """Males begin with M, females with F."""
    return [tag_of(row, male) for row, male in enumerate(bred.sex.tolist())]


def tag_of(row: int, male: int) -> str:
    """The tag of a row."""
    return f"{'FM'[male]}{row:05d}"


def _animal(bred: Bred, alleles: list[Allele], row: int, founders: int) -> Animal:
    sex, tag = Sex("FM"[bred.sex[row]]), tag_of(row, bred.sex[row])
    if row < founders:
        return Animal(tag, sex, genes=_founder(bred, alleles, row))
    text = look_text(alleles, bred.copies[row])
    sire, dam = int(bred.sire[row]), int(bred.dam[row])
    clutch = f"C{dam}-{row // 10_000}-{sire}"
    genes = text if bred.looked[row] else ""
    return Animal(tag, sex, genes=genes, sires=(tag_of(sire, 1),), dam=tag_of(dam, 0), clutch=clutch)


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


def look_text(alleles: list[Allele], copies: np.ndarray) -> str:
    """What is noted of an animal's look."""
    return " ".join(filter(None, map(_look, alleles, copies.tolist()))) or "Normal"


def _look(allele: Allele, copies: int) -> str:
    if copies == 0 or (copies == 1 and not allele.shows_once):
        return ""
    return " ".join(allele.look_once if copies == 1 else allele.look_twice)
