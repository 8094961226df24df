"""What a text or a laboratory result says of one locus; texts that say the same are worked out once."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.entries import Entry, Kind, LabTest
from eggtooth.engine.facts.inheritance import Catalogue, Locus, Look
from eggtooth.engine.facts.inheritance import Genotype as Written
from eggtooth.engine.genetics.notation import read
from eggtooth.engine.genetics.statement import Claim, Maker, Said, Statement
from eggtooth.engine.pedigree.locus_model import LocusModel

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


def wrong_by(fits: Floats, error: float) -> Floats:
    """1 - error where it fits, error elsewhere."""
    return fits if error == 0 else fits * (1 - error) + (fits == 0) * error


class AtLocus(NamedTuple):
    """What a text says of one locus: look and genotype where it names them, claims as (allele, p)."""

    look: Look | None
    genotype: Written | None
    claims: tuple[tuple[int, Fraction | None], ...]
    noted: bool
    maker: Maker | None


@lru_cache(maxsize=100_000)
def read_text(text: str, catalogue: Catalogue) -> Statement:
    return read(text, catalogue)


Spoken = tuple[Locus, AtLocus, frozenset[int]]
"""A locus, what a text says of it, and the alleles it names there."""


@lru_cache(maxsize=100_000)
def _at_loci_of(statement: Statement) -> tuple[Spoken, ...]:
    out = []
    for locus in statement.loci():
        said = next((s for s in statement.said if s.locus is locus or s.locus == locus), None)
        claims = tuple((c.allele, c.p) for c in statement.claims if c.locus == locus)
        maker = statement.maker if locus.sex_linked else None
        look, genotype = (said.look, said.genotype) if said else (None, None)
        out.append(_shared(locus, AtLocus(look, genotype, claims, statement.noted, maker)))
    return tuple(out)


@lru_cache(maxsize=10_000)
def _shared(locus: Locus, told: AtLocus) -> Spoken:
    """One object for all animals of which the same is said."""
    return locus, told, _alleles(locus, told)


def at_loci(statement: Statement) -> tuple[Spoken, ...]:
    return _at_loci_of(statement) if statement.said or statement.claims else ()


def _statement(locus: Locus, told: AtLocus) -> Statement:
    """A text that says only this."""
    said = () if told.look is None else (Said(locus, told.look, told.genotype),)
    claims = tuple(Claim(locus, allele, p) for allele, p in told.claims)
    return Statement(told.noted, said, claims, told.maker)


def _alleles(locus: Locus, told: AtLocus) -> frozenset[int]:
    named = {allele for allele, _ in told.claims}
    if told.genotype is not None:
        named |= {a for a in told.genotype if a}
    elif told.look is not None:
        named |= {a for g in _statement(locus, told).possible(locus) for a in g if a}
    return frozenset(named)


@lru_cache(maxsize=100_000)
def told_once(
    model: LocusModel, told: AtLocus, sex: Sex, prior: bool, founder: bool, look_error: float
) -> Floats:
    """Odds of a founder (`prior`), or the genotypes a text allows, in the model's order."""
    import numpy as np

    statement, locus = _statement(model.locus, told), model.locus
    out = np.zeros(len(model.written))
    for male, states in zip((False, True), model.states, strict=True):
        if model.segregation.sex_linked and sex is (Sex.FEMALE if male else Sex.MALE):
            continue
        if prior:
            for written, p in statement.founder(male=male).get(locus, {Written(0, 0): 1}).items():
                out[states[written]] = float(p)
        else:
            for written in statement.possible(locus, male=male):
                if written in states:
                    out[states[written]] = 1
    if founder:
        return out
    wrong = wrong_by(out, look_error)
    return wrong if not look_error else wrong * of_sex(model, sex)


def of_sex(model: LocusModel, sex: Sex) -> Floats:
    import numpy as np

    s = model.segregation
    if not s.sex_linked or sex is Sex.UNKNOWN:
        return np.ones(len(model.written))
    return (s.can_sire if sex is Sex.MALE else s.can_dam).astype(float)


def tests_of(colony: Colony, catalogue: Catalogue) -> dict[str, list[tuple[Entry, LabTest, Locus]]]:
    out: dict[str, list[tuple[Entry, LabTest, Locus]]] = {}
    for tag, entries in colony.entries.items():
        for entry in entries:
            if entry.kind is Kind.TEST and isinstance(entry.detail, LabTest):
                statement = read(f"het {entry.detail.gene}", catalogue)
                (locus,) = statement.loci()
                out.setdefault(tag, []).append((entry, entry.detail, locus))
    return out


def allele_of(test: LabTest, locus: Locus, catalogue: Catalogue) -> str:
    """The allele a test is about, by the notation's own reading of its name."""
    statement = read(f"het {test.gene}", catalogue)
    said = next(s for s in statement.said if s.locus == locus)
    assert said.genotype is not None
    return locus.alleles[max(said.genotype) - 1].name
