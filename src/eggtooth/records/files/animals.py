"""Reading `animals.csv`, and what no pedigree can hold: unknown, younger or wrong-sexed parents, circles."""

from __future__ import annotations

import csv
from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from eggtooth.engine.colony import Animal, Sex, State
from eggtooth.engine.wording import say
from eggtooth.records.files.fields import (
    LONGEST_CLUTCH,
    LONGEST_GENES,
    LONGEST_NAME,
    LONGEST_NOTE,
    day_of,
    tag_of,
    tub_of,
    words_of,
)
from eggtooth.records.files.refusal import Nearest, Refusal, Wrong, nearest
from eggtooth.records.files.table import Table, Unreadable, open_table

ROLES = {"sire": say("sire"), "dam": say("dam")}
Problem = Callable[[str], str | None]


@dataclass(slots=True)
class Animals:
    """What the file holds: animals by tag in its order, the line each stands on, and the lines refused."""

    animals: dict[str, Animal] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    refusals: list[Refusal] = field(default_factory=list)
    header: list[str] = field(default_factory=list)
    rows: dict[str, list[str]] = field(default_factory=dict)
    refused: list[tuple[list[str], str]] = field(default_factory=list)


def read_animals(
    path: Path,
    latest: date,
    known: Mapping[str, Animal] | None = None,
    genes_problem: Problem | None = None,
    incubators: Container[str] = (),
) -> Animals:
    """Read the animals; `known` are kept already and may be parents. Never raises for what stands there.

    A tag may not be an incubator's, or the temperatures of one would be the other's.

    `genes_problem` says in a sentence why a text is no genotype, or `None`. A line refused for its pedigree
    takes the lines that name it as a parent with it. Cost: lines × depth of such chains.
    """
    try:
        table = open_table(path, "animals")
    except Unreadable as unreadable:
        return Animals(refusals=list(unreadable.refusals))
    found = Animals(header=table.header)
    try:
        for row in table.reader:
            _keep(found, table, row, latest, genes_problem, incubators)
    except csv.Error as error:
        found.refusals.append(table.broken(error))
    _refuse_impossible(found, table.file, known or {})
    return found


def _keep(
    found: Animals,
    table: Table,
    row: list[str],
    latest: date,
    genes_problem: Problem | None,
    incubators: Container[str],
) -> None:
    if not any(map(str.strip, row)):
        return
    try:
        if len(row) != len(table.header):
            raise table.too_wide(row)
        animal = _animal(table, row, latest, genes_problem)
        if animal.tag in found.lines:
            raise Wrong(
                "tag",
                animal.tag,
                say("stands on line {line} already", line=found.lines[animal.tag]),
                say("give each one tag"),
            )
        if animal.tag in incubators:
            raise Wrong(
                "tag", animal.tag, say("is the tag of an incubator"), say("give the animal another one")
            )
    except Wrong as wrong:
        refusal = wrong.at(table.file, table.line)
        found.refusals.append(refusal)
        found.refused.append((row, refusal.text))
        return
    found.animals[animal.tag], found.lines[animal.tag], found.rows[animal.tag] = animal, table.line, row


def _animal(table: Table, row: list[str], latest: date, genes_problem: Problem | None) -> Animal:
    text = {column: row[i].strip() for column, i in table.places.items()}
    note = "; ".join(filter(None, (text["note"], table.noted(row))))
    tag = tag_of("tag", text["tag"])
    return Animal(
        tag=tag,
        sex=_sex(text["sex"]),
        name=words_of("name", text["name"], LONGEST_NAME),
        hatched=day_of("hatched", text["hatched"], latest) if text["hatched"] else None,
        genes=_genes(text["genes"], genes_problem),
        sires=_sires(tag, text["sire"]),
        dam=_parent(tag, "dam", text["dam"]),
        clutch=words_of("clutch", text["clutch"], LONGEST_CLUTCH),
        tub=tub_of("tub", text["tub"]) if text["tub"] else None,
        state=_state(text["state"]),
        note=words_of("note", note, LONGEST_NOTE, lines=True),
    )


def _sex(text: str) -> Sex:
    if text.upper() in ("M", "F", ""):
        return Sex(text.upper())
    near = {"male": "M", "female": "F", "1.0": "M", "0.1": "F", "0.0.1": ""}.get(text.casefold(), "")
    raise Wrong("sex", text, say("is not a sex"), say("write M, F or nothing"), near)


def _state(text: str) -> State:
    word = text.casefold() or "here"
    if word in tuple(State):
        return State(word)
    raise Wrong(
        "state",
        text,
        say("is not a state"),
        say("one of: {known}", known=", ".join(State)),
        nearest(word, list(State)),
    )


def _genes(text: str, genes_problem: Problem | None) -> str:
    words = words_of("genes", text, LONGEST_GENES)
    if words and genes_problem and (why := genes_problem(words)):
        raise Wrong("genes", "", why)
    return words


def _sires(tag: str, text: str) -> tuple[str, ...]:
    if not text:
        return ()
    sires = tuple(_parent(tag, "sire", part) for part in text.split("|"))
    if "" in sires or len(set(sires)) < len(sires):
        raise Wrong(
            "sire", text, say("is not a list of candidates"), say("write each once, with | between: M03|M07")
        )
    return sires


def _parent(tag: str, role: str, text: str) -> str:
    parent = tag_of(role, text) if text.strip() else ""
    if parent == tag:
        raise Wrong(role, parent, say("is the animal itself"))
    return parent


def _refuse_impossible(found: Animals, file: str, known: Mapping[str, Animal]) -> None:
    """Refuse what the pedigree forbids until nothing more falls: a refused parent is an unknown one."""
    while True:
        everyone = {**known, **found.animals}
        near, young = Nearest(everyone), _young(known, found.animals)
        wrongs = {
            a.tag: w
            for a in found.animals.values()
            if (w := _wrong_parent(a, everyone, near) or _wrong_young(a, young.get(a.tag, ())))
        }
        wrongs = wrongs or _own_ancestors(found.animals, everyone)
        if not wrongs:
            break
        for tag, wrong in wrongs.items():
            del found.animals[tag]
            refusal = wrong.at(file, found.lines[tag])
            found.refusals.append(refusal)
            found.refused.append((found.rows[tag], refusal.text))
    found.refusals.sort(key=lambda r: r.line)


def _wrong_parent(animal: Animal, everyone: Mapping[str, Animal], near: Nearest) -> Wrong | None:
    for role, sex, tag in _parents(animal):
        parent = everyone.get(tag)
        if parent is None:
            return Wrong(role, tag, say("is not an animal here"), "", near(tag))
        if parent.sex not in (sex, Sex.UNKNOWN):
            return Wrong(
                role,
                tag,
                say("is recorded as {sex}", sex=parent.sex.value),
                say("a {role} is {sex}", role=ROLES[role], sex=sex.value),
            )
        if animal.hatched and parent.hatched and parent.hatched >= animal.hatched:
            return Wrong(
                role,
                tag,
                say(
                    "hatched on {hatched}, not before {child}",
                    hatched=parent.hatched,
                    child=animal.hatched,
                ),
            )
    return None


def _young(known: Mapping[str, Animal], changed: Container[str]) -> dict[str, list[tuple[str, Sex, Animal]]]:
    """By parent: (role, sex it needs, young) of the animals kept already that stay as they are."""
    young: dict[str, list[tuple[str, Sex, Animal]]] = {}
    for animal in known.values():
        if animal.tag not in changed:
            for role, sex, tag in _parents(animal):
                young.setdefault(tag, []).append((role, sex, animal))
    return young


def _wrong_young(animal: Animal, young: Iterable[tuple[str, Sex, Animal]]) -> Wrong | None:
    """What a change of an animal kept already would make wrong in its young."""
    for role, sex, child in young:
        if animal.sex not in (sex, Sex.UNKNOWN):
            return Wrong(
                "sex",
                animal.sex.value,
                say("is kept as {role} of {tag}", role=ROLES[role], tag=child.tag),
                say("a {role} is {sex}", role=ROLES[role], sex=sex.value),
            )
        if animal.hatched and child.hatched and animal.hatched >= child.hatched:
            why = say(
                "is not before its young {tag} hatched, on {hatched}", tag=child.tag, hatched=child.hatched
            )
            return Wrong("hatched", str(animal.hatched), why)
    return None


def _parents(animal: Animal) -> Iterator[tuple[str, Sex, str]]:
    for sire in animal.sires:
        yield "sire", Sex.MALE, sire
    if animal.dam:
        yield "dam", Sex.FEMALE, animal.dam


def _own_ancestors(new: Iterable[str], everyone: Mapping[str, Animal]) -> dict[str, Wrong]:
    """The animals of the file that stand in a circle of parents, with the way round."""
    from graphlib import CycleError, TopologicalSorter

    above = {tag: [p for _, _, p in _parents(a) if p in everyone] for tag, a in everyone.items()}
    try:
        TopologicalSorter(above).prepare()
    except CycleError as error:
        circle = list(reversed(error.args[1]))
        way = " ← ".join(circle)
        return {tag: _circle(everyone[tag], circle, way) for tag in set(new) & set(circle)}
    return {}


def _circle(animal: Animal, circle: list[str], way: str) -> Wrong:
    role = next(role for role, _, p in _parents(animal) if p in circle)
    return Wrong(role, animal.tag, say("would be its own ancestor ({way})", way=way))
