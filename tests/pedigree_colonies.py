"""Small colonies written as lines: tag, sex, genes, sire, dam, clutch."""

from __future__ import annotations

from datetime import date

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.entries import Entry, Kind, LabTest
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.pedigree.carriers import Carriers, carriers

CATALOGUE = standard()


def colony(*lines: tuple[str, ...], entries: tuple[Entry, ...] = ()) -> Colony:
    """Lines of (tag, sex, genes[, sire, dam[, clutch]]); several sires as `A|B`."""
    return Colony.of((_animal(*line) for line in lines), entries)


def _animal(tag: str, sex: str, genes: str, sire: str = "", dam: str = "", clutch: str = "") -> Animal:
    sires = tuple(sire.split("|")) if sire else ()
    return Animal(tag, Sex(sex), genes=genes, sires=sires, dam=dam, clutch=clutch)


def lab_result(tag: str, gene: str, copies: int, error: float | None = None) -> Entry:
    """A laboratory result."""
    return Entry(f"t-{tag}", date(2025, 1, 1), None, tag, Kind.TEST, None, LabTest(gene, copies, error))


def answer(*lines: tuple[str, ...], entries: tuple[Entry, ...] = (), **more: object) -> Carriers:
    """Carriers of such a colony."""
    return carriers(colony(*lines, entries=entries), CATALOGUE, **more)  # type: ignore[arg-type]


def p(found: Carriers, tag: str, genotype: str, locus: str = "Clown") -> float:
    """Chance of a genotype as written, `Clown/+`."""
    odds = found.odds(tag, locus)
    place = CATALOGUE.locus(locus)
    return sum(q for g, q in odds.items() if place.text(g) == genotype)
