"""What would settle what an animal carries: gather the colony, ask the engine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from difflib import get_close_matches
from typing import NamedTuple

from eggtooth.engine.facts import biology
from eggtooth.engine.genetics.notation import NotationError, read
from eggtooth.engine.house import Settings
from eggtooth.engine.pedigree.carriers import Carriers
from eggtooth.engine.pedigree.laboratory import LabErrors
from eggtooth.engine.pedigree.why import chance
from eggtooth.engine.pedigree.worth import open_questions
from eggtooth.engine.planning.proving import Proving, look_first, proving

EGGS = round(biology.CLUTCH_SIZE.value)


class NotAsked(ValueError):
    """What was asked about is not here; the text says what is nearest."""


class Open(NamedTuple):
    """An open question: the chance of carrying, and whether looking at the animal comes before breeding."""

    tag: str
    locus: str
    p: float
    look_first: bool


def to_prove(found: Carriers, on: date, genes: Sequence[str] = ()) -> list[Open]:
    """Animals in the room that may or may not carry something (of `genes`, where given), the least certain
    first. Raises `NotAsked`."""
    asked = {_locus(found, gene) for gene in genes}
    questions = open_questions(found, [a.tag for a in found.evidence.colony.here(on)])
    return [
        Open(tag, name, p, look_first(found, tag, name))
        for tag, name, p in questions
        if not asked or name in asked
    ]


def how_to_prove(
    found: Carriers,
    tag: str,
    on: date,
    settings: Settings,
    genes: Sequence[str] = (),
    eggs: int = EGGS,
) -> list[Proving]:
    """What would settle each gene an animal may carry, or only `genes` (named as in notation); the least
    certain first.

    Raises `NotAsked` for a tag or gene nobody here has.
    """
    _known(tag, "an animal here", found.evidence.colony.animals)
    asked = [_locus(found, gene) for gene in genes] or [
        n for n in found.loci if 0 < chance(found, tag, n) < 1
    ]
    errors = lab_errors(found)
    ways = [proving(found, tag, gene, on, settings, eggs, errors) for gene in dict.fromkeys(asked)]
    return sorted(ways, key=lambda w: (abs(w.chance - 0.5), w.locus))


def lab_errors(found: Carriers) -> LabErrors:
    """The rates set for laboratories; where none is set, a test still to come is not taken as sure."""
    rates = found.evidence.rates.laboratory
    return LabErrors(biology.LAB_ERROR.value) if rates == LabErrors() else rates


def _locus(found: Carriers, gene: str) -> str:
    """The locus of a gene, by its own name or by any name of the notation."""
    try:
        named = [locus.name for locus in read(f"het {gene}", found.evidence.catalogue).loci()]
    except NotationError:
        named = []
    name = named[0] if gene not in found.loci and len(named) == 1 else gene
    _known(name, "a gene that anybody here is noted with", found.loci)
    return name


def _known(name: str, what: str, among: Mapping[str, object]) -> None:
    if name not in among:
        near = get_close_matches(name, list(among), n=1, cutoff=0.5)
        raise NotAsked(f"{name} is not {what}{f'; did you mean {near[0]}?' if near else ''}")
