"""Genotypes of recorded animals, given everything known of their families, for crossing them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction
from functools import cache

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.facts.inheritance import Catalogue, Genotype, Locus
from eggtooth.engine.genetics.notation import problem
from eggtooth.engine.genetics.statement import Genotypes
from eggtooth.engine.pedigree.carriers import Carriers, carriers
from eggtooth.engine.pedigree.sires import sire_odds
from eggtooth.jobs.family_kept import known_now
from eggtooth.records import store
from eggtooth.records.place import store_named

MOST_BELOW = 10_000
"""Odds this close to a fraction with no larger denominator are that fraction."""

CLOSE = 1e-13


def stored_colony() -> Colony | None:
    """The colony of the store, or None where there is no store yet; none is made."""
    if not store_named():
        return None
    store.open_store()
    return store.colony()


def is_genes(text: str, catalogue: Catalogue) -> bool:
    """Whether a text can be read as genes."""
    return problem(text, catalogue) is None


def family_odds(colony: Colony, on: date, catalogue: Catalogue, seed: int = 0) -> Callable[[str], Genotypes]:
    """Gives an animal's genotypes by its tag, from all that was known at the end of a day.

    The whole colony is worked out once, at the first question. Odds are floats, or fractions where they
    plainly are.
    """
    known = colony.as_of(on)

    @cache
    def found() -> Carriers:
        if catalogue is standard() and not seed:
            return known_now(colony, on)
        return carriers(known, catalogue, None, sire_odds(known), seed=seed)

    return lambda tag: genotypes_in(found(), tag)


def genotypes_in(found: Carriers, tag: str) -> Genotypes:
    """One animal's genotypes out of what is known of the whole colony, in the engine's form."""
    sex = found.evidence.colony.animals[tag].sex
    return {locus: _plain(_phased(locus, odds, sex)) for locus, odds in found.animal(tag)}


def _phased(locus: Locus, odds: Mapping[Genotype, float], sex: Sex) -> dict[Genotype, float]:
    """Genotypes in the engine's form; of an animal of unknown sex either chromosome may carry the copy."""
    phased: dict[Genotype, float] = {}
    for (a, b), p in odds.items():
        ways = [(a, b), (b, a)] if locus.sex_linked and sex is Sex.UNKNOWN else [(a, b)]
        for way in ways:
            g = locus.genotype(*way, male=sex is not Sex.FEMALE)
            phased[g] = phased.get(g, 0.0) + p / len(ways)
    return phased


def _plain(odds: Mapping[Genotype, float]) -> dict[Genotype, Fraction]:
    """Fractions where all odds of the locus plainly are ones that sum to 1; else the floats as they are."""
    near = {g: Fraction(p).limit_denominator(MOST_BELOW) for g, p in odds.items()}
    if sum(near.values()) == 1 and all(abs(float(near[g]) - p) <= CLOSE for g, p in odds.items()):
        return near
    return dict(odds)  # type: ignore[arg-type]  # the cross takes floats too, and says so
