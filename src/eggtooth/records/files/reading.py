"""Reading the files of one house together, since a log may only speak of animals that are there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from eggtooth.engine.colony import Animal, Colony, Incubator, Wish
from eggtooth.engine.entries import Entry
from eggtooth.records.files.animals import Animals, read_animals
from eggtooth.records.files.log import Known, Log, Voiding, read_log
from eggtooth.records.files.refusal import Refusal
from eggtooth.records.files.wishes import Lines, WishText, read_incubators, read_wishes

Problem = Callable[[str], str | None]
NOTHING = Colony({})


@dataclass(frozen=True, slots=True)
class Paths:
    """Where the files lie; any of them may be left out."""

    animals: Path | None = None
    log: Path | None = None
    wishes: Path | None = None
    incubators: Path | None = None
    voided: Path | None = None


@dataclass(frozen=True, slots=True)
class Notation:
    """How genes and wishes are read: what is wrong with genes in a sentence, or `None`; a wish as written
    canonically, or `Wrong`."""

    genes_problem: Problem | None = None
    wish_text: WishText | None = None


NO_NOTATION = Notation()


@dataclass(slots=True)
class Reading:
    """Everything good in the files, and everything refused.

    `refused` holds for each file its header and the refused lines as they stood, each with its reason.
    """

    animals: dict[str, Animal] = field(default_factory=dict)
    entries: list[Entry] = field(default_factory=list)
    noted_at: dict[str, datetime] = field(default_factory=dict)
    voided: list[tuple[Entry, Voiding]] = field(default_factory=list)
    wishes: list[Wish] = field(default_factory=list)
    incubators: list[Incubator] = field(default_factory=list)
    refusals: list[Refusal] = field(default_factory=list)
    refused: dict[Path, tuple[list[str], list[tuple[list[str], str]]]] = field(default_factory=dict)

    def colony(self) -> Colony:
        """The good values as one colony."""
        return Colony.of(self.animals.values(), self.entries, self.wishes, self.incubators)


def read_files(
    paths: Paths, latest: date, kept: Colony = NOTHING, notation: Notation = NO_NOTATION
) -> Reading:
    """Read the files; lines may speak of what is `kept` already. Dates after `latest` are refused.

    Never raises for what stands in a file; a file that cannot be read at all is one refusal. The good values
    come back beside the refusals: whether to use them in spite of the refusals is the caller's choice.
    """
    found = Reading()
    if paths.animals:
        animals = read_animals(paths.animals, latest, kept.animals, notation.genes_problem, kept.incubators)
        found.animals = animals.animals
        _note_refused(found, paths.animals, animals)
    everyone = {**kept.animals, **found.animals}
    if paths.incubators:
        incubators = read_incubators(paths.incubators, frozenset(everyone))
        found.incubators = incubators.values
        _note_refused(found, paths.incubators, incubators)
    if paths.wishes:
        wishes = read_wishes(paths.wishes, notation.wish_text, everyone)
        found.wishes = wishes.values
        _note_refused(found, paths.wishes, wishes)
    places = _places([*kept.incubators.values(), *found.incubators], everyone)
    known = Known(everyone, places, notation.genes_problem)
    if paths.log:
        log = read_log(paths.log, known, latest)
        found.entries, found.noted_at = log.entries, log.noted_at
        _note_refused(found, paths.log, log)
    if paths.voided:
        log = read_log(paths.voided, known, latest, role="voided")
        found.voided = [(e, log.voided[e.id]) for e in log.entries]
        found.noted_at |= log.noted_at
        _note_refused(found, paths.voided, log)
    return found


def _places(incubators: list[Incubator], animals: dict[str, Animal]) -> frozenset[str] | None:
    """Tags a temperature may carry; without any incubator known, any tag will do."""
    if not incubators:
        return None
    return frozenset(i.tag for i in incubators) | frozenset(_racks(animals))


def _racks(animals: dict[str, Animal]) -> Iterator[str]:
    for animal in animals.values():
        if animal.tub:
            yield animal.tub.rack


def _note_refused(found: Reading, path: Path, part: Animals | Log | Lines[Wish] | Lines[Incubator]) -> None:
    found.refusals += part.refusals
    if part.refused:
        found.refused[path] = (part.header, part.refused)
