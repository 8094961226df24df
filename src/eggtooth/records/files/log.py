"""Reading `log.csv` into entries. The common line costs a few dictionary look-ups; only new texts are parsed.

A large house has hundreds of thousands of lines but few distinct dates, tags and things said, so each
distinct text is read once and remembered. A line whose texts cannot be read goes the slow way and is refused.
"""

from __future__ import annotations

import csv
import gc
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import repeat
from operator import is_, itemgetter
from pathlib import Path
from typing import NamedTuple
from uuid import UUID

from eggtooth.engine.entries import WITH_PARTNER, Detail, Entry, Kind, LabTest
from eggtooth.engine.wording import say
from eggtooth.records.files.details import detail_of, kind_of, value_of
from eggtooth.records.files.fields import LONGEST_BY, LONGEST_NOTE, LONGEST_TAG, moment_of, tub_of, words_of
from eggtooth.records.files.refusal import Nearest, Refusal, Wrong
from eggtooth.records.files.table import COLUMNS, Table, Unreadable, open_table

BLOCK_LINES = 10_000

OPTIONAL = ("note", "noted by", "noted at", "entry id")
"""Columns an export adds, so that reading it back loses nothing."""

Problem = Callable[[str], str | None]


@dataclass(slots=True)
class Log:
    """What a log holds: the entries, when each was noted if that stands there, and the lines refused."""

    entries: list[Entry] = field(default_factory=list)
    noted_at: dict[str, datetime] = field(default_factory=dict)
    refusals: list[Refusal] = field(default_factory=list)
    header: list[str] = field(default_factory=list)
    refused: list[tuple[list[str], str]] = field(default_factory=list)
    voided: dict[str, Voiding] = field(default_factory=dict)


class Voiding(NamedTuple):
    """By whom an entry was taken back, when and why."""

    by: str
    when: datetime
    why: str


@dataclass(slots=True)
class Known:
    """What a log may speak of: animals by tag; other places (incubators), or `None` if any tag will do."""

    animals: Collection[str]
    places: Collection[str] | None = None
    gene_problem: Problem | None = None


class _Moments(dict[str, tuple[date, datetime | None]]):
    def __init__(self, latest: date) -> None:
        super().__init__()
        self.latest = latest

    def __missing__(self, text: str) -> tuple[date, datetime | None]:
        self[text] = found = moment_of("date", text, self.latest)
        return found


class _Said(dict[tuple[str, str, str], tuple[Kind, float | None, Detail]]):
    def __init__(self, known: Known) -> None:
        super().__init__()
        self.known, self.near = known, Nearest(known.animals)
        self.tags = {tag: tag for tag in known.animals}

    def __missing__(self, texts: tuple[str, str, str]) -> tuple[Kind, float | None, Detail]:
        kind = kind_of(texts[0])
        value, detail = value_of(kind, texts[1]), detail_of(kind, texts[2])
        if kind in WITH_PARTNER and isinstance(detail, str):
            if detail not in self.tags:
                raise _no_animal("detail", detail, self.near)
            detail = self.tags[detail]
        if isinstance(detail, LabTest) and (ask := self.known.gene_problem) and (why := ask(detail.gene)):
            raise Wrong("detail", "", why)
        self[texts] = found = (kind, value, detail)
        return found


class _Rests(dict[str, tuple[Kind, float | None, Detail]]):
    """What `kind,value,detail` says, by the text of all three where no field is quoted."""

    def __init__(self, said: _Said) -> None:
        super().__init__()
        self.said = said

    def __missing__(self, text: str) -> tuple[Kind, float | None, Detail]:
        kind, value, detail = text.split(",")
        self[text] = found = self.said[kind, value, detail]
        return found


class _Tags(dict[str, str]):
    """Known tags; each is one object, so that `is` tells whether two are the same."""

    def __init__(self, said: _Said) -> None:
        super().__init__(said.tags)
        self.tags, self.near = said.tags, said.near

    def __missing__(self, text: str) -> str:
        tag = text.strip()
        if tag not in self.tags:
            raise UnknownTag(tag)
        self[text] = found = self.tags[tag]
        return found


class _Who(dict[tuple[bool, str], str]):
    """Whom a line is about, by whether it is a temperature and by the text: an animal, or then any place."""

    def __init__(self, tags: _Tags, place: Callable[[str], str]) -> None:
        super().__init__()
        self.tags, self.place = tags, place

    def __missing__(self, asked: tuple[bool, str]) -> str:
        heat, text = asked
        if heat and not text.strip():
            raise UnknownTag(text)
        self[asked] = found = self.place(text.strip()) if heat else self.tags[text]
        return found


class UnknownTag(ValueError):
    """Not an animal's tag; whether that is wrong, and what comes near, is worked out only when it matters."""


def _no_animal(column: str, tag: str, near: Nearest) -> Wrong:
    if not tag:
        return Wrong(column, "", say("the tag is missing"))
    return Wrong(column, tag, say("is not an animal here"), "", near(tag))


def read_log(path: Path, known: Known, latest: date, role: str = "log") -> Log:
    """Read a log; dates after `latest` are refused. Never raises for what stands in the file.

    Cost: linear in the lines. Entries without an id of their own get `log:LINE`. With `role` `voided` the
    file holds entries taken back, and by whom, when and why.
    """
    try:
        table = open_table(path, role, tuple(c for c in OPTIONAL if c not in COLUMNS[role]))
    except Unreadable as unreadable:
        return Log(refusals=list(unreadable.refusals))
    log = Log(header=table.header)
    lines = _Lines(table, log, known, latest, role)
    try:
        with _collector_paused():
            plain = role == "log" and table.plain and not table.quoted
            lines.read_plain() if plain else lines.read_any()
    except csv.Error as error:
        log.refusals.append(table.broken(error))
    return log


@contextmanager
def _collector_paused() -> Iterator[None]:
    """Hundreds of thousands of new tuples, none of them garbage: looking through them again takes longer."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


class _Lines:
    """The lines of one log with everything remembered on the way."""

    def __init__(self, table: Table, log: Log, known: Known, latest: date, role: str) -> None:
        self.table, self.log, self.known, self.role = table, log, known, role
        self.moments, self.said = _Moments(latest), _Said(known)
        self.tags = _Tags(self.said)
        self.who = _Who(self.tags, self.place)
        self.line = 1
        self.lines_of_ids: dict[str, int] = {}

    def read_plain(self) -> None:
        """Files with just the five columns in their order and no quotes, some thousand lines at a time.

        Without quotes a line is its fields joined by commas, and the last three recur so often that they are
        looked up as one text. A block with any line that is not plain and good is read line by line.
        """
        lines = self.table.plain_lines()
        rests = _Rests(self.said)
        for start in range(0, len(lines), BLOCK_LINES):
            block = lines[start : start + BLOCK_LINES]
            try:
                self.log.entries += self.columns(block, start + 2, rests)
            except ValueError:
                self.one_by_one(block, start + 2, rests)

    def columns(self, lines: list[str], first: int, rests: _Rests) -> list[Entry]:
        """A block of good lines, column by column: no step of it is a loop in Python.

        Raises `ValueError` when any line is not good.
        """
        if not lines:
            return []
        moments, tags, texts = zip(*map(str.split, lines, repeat(","), repeat(2)), strict=True)
        ons, ats = zip(*map(self.moments.__getitem__, moments), strict=True)
        kinds, values, details = zip(*map(rests.__getitem__, texts), strict=True)
        who = list(map(self.who.__getitem__, zip(map(Kind.TEMPERATURE.__eq__, kinds), tags, strict=True)))
        if any(map(is_, details, who)):
            raise ValueError("an animal with itself")
        ids = map("log:".__add__, map(str, range(first, first + len(lines))))
        columns = zip(ids, ons, ats, who, kinds, values, details, repeat(""), repeat(""))
        return list(map(tuple.__new__, repeat(Entry), columns))

    def one_by_one(self, lines: list[str], first: int, rests: _Rests) -> None:
        """A block line by line, each kept or refused with its reason."""
        for number, line in enumerate(lines, first):
            self.line = number
            try:
                self.log.entries += self.columns([line], number, rests)
            except ValueError:
                self.read_slowly(line.split(",") if line else [])

    def read_any(self) -> None:
        """Files with other columns, another order or quotes."""
        places, width = self.table.places, len(self.table.header)
        five = itemgetter(*(places[c] for c in COLUMNS["log"]))
        more = [i for i in range(width) if i not in {places[c] for c in COLUMNS["log"]}]
        moments, tags, said, keep = self.moments, self.tags, self.said, self.log.entries.append
        always = self.role == "voided"
        for row in self.table.reader:
            self.line = self.table.line
            try:
                if len(row) != width:
                    raise ValueError
                moment, tag, *what = five(row)
                on, at = moments[moment]
                kind, value, detail = said[tuple(what)]
                who = tags[tag]
                if detail is who:
                    raise ValueError
                entry = Entry(f"log:{self.line}", on, at, who, kind, value, detail)
                keep(self.with_more(entry, row) if always or any(row[i] for i in more) else entry)
            except ValueError:
                self.read_slowly(row)

    def entry(self, moment: str, tag: str, kind: str, value: str, detail: str) -> Entry:
        """One entry from its five texts. Raises `Wrong`, naming the first column at fault."""
        on, at = self.moments[moment]
        if not tag.strip():
            raise Wrong("tag", "", say("the tag is missing"))
        who = self.place(tag.strip()) if kind_of(kind) is Kind.TEMPERATURE else self.animal(tag)
        what = self.said[kind, value, detail]
        if what[0] in WITH_PARTNER and what[2] == who:
            raise Wrong(
                "detail", who, say("is the animal itself; {kind} needs the other animal", kind=what[0])
            )
        return Entry(f"log:{self.line}", on, at, who, *what)

    def animal(self, tag: str) -> str:
        """The animal of this tag. Raises `Wrong` with the nearest known one."""
        try:
            return self.tags[tag]
        except UnknownTag:
            raise _no_animal("tag", tag.strip(), self.said.near) from None

    def place(self, tag: str) -> str:
        """What a temperature may be about: a tub, a rack, an incubator."""
        places = self.known.places
        if places is None or tag in places or tag in self.known.animals:
            return words_of("tag", tag, LONGEST_TAG)
        try:
            return str(tub_of("tag", tag))
        except Wrong:
            near = Nearest(places)(tag)
            raise Wrong("tag", tag, say("is no tub, rack or incubator here"), "", near) from None

    def read_slowly(self, row: list[str]) -> None:
        """A line the tight loop could not take: blank, odd but right, or refused with its reason."""
        if not any(map(str.strip, row)):
            return
        try:
            if len(row) != len(self.table.header):
                raise self.table.too_wide(row)
            places = self.table.places
            entry = self.entry(*(row[places[c]] for c in COLUMNS["log"]))
            self.log.entries.append(self.with_more(entry, row))
        except Wrong as wrong:
            refusal = wrong.at(self.table.file, self.line)
            self.log.refusals.append(refusal)
            self.log.refused.append((row, refusal.text))

    def with_more(self, entry: Entry, row: list[str]) -> Entry:
        """The entry with its note, who noted it and its own id, where the file has such columns."""
        note = "; ".join(filter(None, (self.more("note", row, lines=True), self.table.noted(row))))
        entry = entry._replace(
            by=self.more("noted by", row, LONGEST_BY), note=words_of("note", note, LONGEST_NOTE, lines=True)
        )
        if key := self.more("entry id", row):
            entry = entry._replace(id=self.key(key))
        noted = self.more("noted at", row)
        noted_at = _moment("noted at", noted) if noted else None
        if self.role == "voided":
            self.log.voided[entry.id] = self.voiding(key, row)
        if noted_at:
            self.log.noted_at[entry.id] = noted_at
        return entry

    def voiding(self, key: str, row: list[str]) -> Voiding:
        """By whom, when and why; only an entry with an id of its own can have been taken back."""
        if not key:
            raise Wrong(
                "entry id", "", say("the entry id is missing"), say("without it nothing can be taken back")
            )
        when = _moment("voided at", self.more("voided at", row))
        return Voiding(self.more("voided by", row, LONGEST_BY), when, self.more("why", row, lines=True))

    def more(self, column: str, row: list[str], most: int = LONGEST_NOTE, lines: bool = False) -> str:
        """One optional column; empty when the file does not have it."""
        place = self.table.places.get(column)
        return "" if place is None else words_of(column, row[place], most, lines)

    def key(self, text: str) -> str:
        """An entry's own id: a UUID that stands in the file once."""
        try:
            key = UUID(text).hex
        except ValueError:
            raise Wrong(
                "entry id", text, say("is not a UUID"), say("leave it empty for a new entry")
            ) from None
        if self.lines_of_ids.get(key, self.line) != self.line:
            raise Wrong("entry id", text, say("stands on line {line} already", line=self.lines_of_ids[key]))
        self.lines_of_ids[key] = self.line
        return key


def _moment(column: str, text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise Wrong(column, text, say("is not a moment"), say("write it like 2026-01-31T21:30:00+00:00"))
    return moment
