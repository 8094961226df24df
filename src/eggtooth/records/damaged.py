"""Reading a damaged SQLite store row by row, around what cannot be read. Knows nothing of Django.

A table is asked for by ranges of its row numbers; a range that fails is halved until the rows that fail stand
alone. Cost: linear in the rows that can be read, and some twenty questions for each damaged page besides its
rows. A store whose first page is gone names its tables nowhere and cannot be read at all.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from eggtooth.engine.colony import Animal, Incubator, Sex, State, Tub, Wish
from eggtooth.engine.entries import WITH_PARTNER, Entry, Kind
from eggtooth.records.backups import Unsound, reading
from eggtooth.records.files.details import detail_of

STEP = 1024
LARGEST = 1 << 36  # a header that asks for more is damaged itself
NEVER_DELETED = ("animal", "entry")
"""A number missing there is a row lost, even where SQLite does not notice."""
Row = tuple[Any, ...]


@dataclass(slots=True)
class Found:
    """What could be read, and in `lost` a line for each thing that could not."""

    animals: list[Animal] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    voided: list[tuple[Entry, str, datetime, str]] = field(default_factory=list)
    wishes: list[Wish] = field(default_factory=list)
    incubators: list[Incubator] = field(default_factory=list)
    settings: list[dict[str, Any]] = field(default_factory=list)
    noted_at: dict[str, datetime] = field(default_factory=dict)
    lost: list[str] = field(default_factory=list)


def read_damaged(store: Path) -> Found:
    """Everything in a store's file that can be read. Raises `Unsound` when that is nothing."""
    if not store.is_file():
        raise Unsound(f"{store} is not there")
    try:
        with _full_length(store) as file, reading(file) as connection:
            connection.text_factory = lambda raw: raw.decode("utf-8", "replace")
            connection.execute("SELECT name FROM sqlite_master").fetchall()
            return _Reader(connection).all()
    except sqlite3.DatabaseError as fault:
        raise Unsound(f"{store} cannot be read at all ({fault}); restore its last copy") from fault


@contextmanager
def _full_length(store: Path) -> Iterator[Path]:
    """The file, or a copy filled up with zeros where it was cut short: SQLite reads nothing of a short one.

    Its header says the size of a page in bytes 16 and 17 and how many there are in bytes 28 to 31
    (https://www.sqlite.org/fileformat.html, 1.3).
    """
    with store.open("rb") as head:
        start = head.read(32)
    page = int.from_bytes(start[16:18], "big")
    size = (65536 if page == 1 else page) * int.from_bytes(start[28:32], "big")
    if start[:6] != b"SQLite" or not store.stat().st_size < size < LARGEST:
        yield store
        return
    with tempfile.TemporaryDirectory(prefix="eggtooth-") as folder:
        for end in ("", "-wal"):
            if (part := store.with_name(store.name + end)).exists():
                shutil.copy(part, Path(folder) / f"short{end}")
        os.truncate(Path(folder) / "short", size)
        yield Path(folder) / "short"


class _Reader:
    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection, self.found = connection, Found()
        self.tags: dict[int, str] = {}

    def all(self) -> Found:
        """Go through the tables, those first that others name."""
        self.read_animals()
        back = {row[0]: row[1:] for _, row in self.rows("voiding", "entry_id", "voided_by, voided_at, why")}
        columns = "key, on_day, at, animal_id, place, kind, value, detail, other_id, noted_by, noted_at, note"
        for number, row in self.rows("entry", "seq", columns):
            self.take("entry", number, row, lambda row, n=number: self.keep_entry(row[1:], back.get(n)))
        for number, row in self.rows("wish", "id", "text, weight, count"):
            self.take("wish", number, row, lambda row: self.found.wishes.append(Wish(*row[1:])))
        for number, row in self.rows("incubator", "id", "tag, places, target_c"):
            self.take("incubator", number, row, lambda row: self.found.incubators.append(Incubator(*row[1:])))
        for number, row in self.rows("housechange", "id", "changed_at, changed_by, settings"):
            self.take("housechange", number, row, lambda row: self.keep_settings(*row[1:]))
        return self.found

    def keep_settings(self, when: str, by: str, said: str) -> None:
        """The settings from a moment on. Raises `ValueError` where they cannot be read."""
        self.found.settings.append({"when": _utc(when).isoformat(), "by": by, "settings": json.loads(said)})

    def take(self, table: str, number: int, row: Row, keep: Any) -> None:
        """Keep a row, or say that it holds nonsense."""
        try:
            keep(row)
        except (ValueError, TypeError, KeyError) as wrong:
            self.found.lost.append(f"{table} {number}: read as {row[1:]!r}, which cannot be ({wrong})")

    def rows(self, table: str, key: str, columns: str) -> Iterator[tuple[int, Row]]:
        """All rows that can be read with their numbers, in that order."""
        query = f"SELECT {key}, {columns} FROM records_{table} WHERE {key} BETWEEN ? AND ? ORDER BY {key}"
        last, gone = self.last_number(table, key), list[int]()
        for first in range(1, last + 1, STEP):
            missing = set(range(first, min(first + STEP - 1, last) + 1)) if table in NEVER_DELETED else set()
            for row in self.between(query, first, min(first + STEP - 1, last), gone):
                missing.discard(row[0])
                yield row[0], row
            gone += sorted(missing - set(gone[-STEP:]))
        spans = _spans(sorted(gone))
        self.found.lost += [f"{table} {_span(a, b)}: cannot be read" for a, b in spans]

    def between(self, query: str, first: int, last: int, gone: list[int]) -> list[Row]:
        """Rows of a range, without those that cannot be read."""
        try:
            return self.connection.execute(query, (first, last)).fetchall()
        except sqlite3.DatabaseError:
            if first == last:
                gone.append(first)
                return []
        middle = (first + last) // 2
        return self.between(query, first, middle, gone) + self.between(query, middle + 1, last, gone)

    def last_number(self, table: str, key: str) -> int:
        """The highest number a row of the table may have."""
        asked = (
            (f"SELECT MAX({key}) FROM records_{table}", ()),
            ("SELECT MAX(seq) FROM sqlite_sequence WHERE name = ?", (f"records_{table}",)),
            ("SELECT MAX(seq) FROM sqlite_sequence WHERE name = ?", ("records_entry",)),
        )
        said = []
        for query, values in asked:
            try:
                said.append(self.connection.execute(query, values).fetchone()[0] or 0)
            except sqlite3.DatabaseError:
                continue
            if len(said) == 2:
                break
        if not said:
            self.found.lost.append(f"{table}: the whole table cannot be read")
        return max(said, default=0)

    def read_animals(self) -> None:
        """Animals with tubs and parents; one whose row is gone gets a stand-in where an entry names it."""
        racks = {n: row[1] for n, row in self.rows("rack", "id", "name")}
        tubs = {
            n: Tub(racks[row[1]], row[2], row[3])
            for n, row in self.rows("tub", "id", "rack_id, row, place")
            if row[1] in racks
        }
        columns = "tag, name, sex, hatched, genes, dam_id, clutch, tub_id, state, note"
        rows = dict(self.rows("animal", "id", columns))
        self.tags = {n: row[1] for n, row in rows.items() if isinstance(row[1], str)}
        sires: dict[int, list[tuple[int, str]]] = {}
        for _, (_, child, sire, rank) in self.rows("sire", "id", "child_id, sire_id, rank"):
            sires.setdefault(child, []).append((rank, self.tag(sire)))
        for number, row in rows.items():
            fathers = tuple(tag for _, tag in sorted(sires.get(number, ())))
            self.take("animal", number, row, lambda r, f=fathers: self.keep_animal(r[1:], f, tubs))

    def keep_animal(self, row: Row, sires: tuple[str, ...], tubs: dict[int, Tub]) -> None:
        """One animal. Raises what its values raise where they cannot be."""
        tag, name, sex, hatched, genes, dam, clutch, tub, state, note = row
        born = date.fromisoformat(hatched) if hatched else None
        mother, place = self.tag(dam) if dam else "", tubs.get(tub)
        if tub and place is None:
            self.found.lost.append(f"animal {tag}: its tub cannot be read")
        said = Animal(tag, Sex(sex), name, born, genes, sires, mother, clutch, place, State(state), note)
        self.found.animals.append(said)

    def tag(self, number: int) -> str:
        """An animal's tag; where its row is gone a stand-in is made, so that nothing about it is lost."""
        if number not in self.tags:
            self.tags[number] = tag = f"LOST-{number}"
            self.found.animals.append(Animal(tag, note=f"its row {number} could not be read"))
            self.found.lost.append(f"animal {number}: not there; what names it stands under {tag}")
        return self.tags[number]

    def keep_entry(self, row: Row, back: Row | None) -> None:
        """One entry, among those taken back if it was. Raises what its values raise where they cannot be."""
        key, on, at, animal, place, kind, value, detail, other, by, noted_at, note = row
        what, moment = Kind(kind), datetime.fromisoformat(at) if at else None
        more = self.tag(other) if what in WITH_PARTNER else detail_of(what, detail)
        who = place if animal is None else self.tag(animal)
        entry = Entry(UUID(key).hex, date.fromisoformat(on), moment, who, what, value, more, by, note)
        self.found.noted_at[entry.id] = _utc(noted_at)
        if back is None:
            self.found.entries.append(entry)
        else:
            self.found.voided.append((entry, back[0], _utc(back[1]), back[2]))


def _utc(text: str) -> datetime:
    """A moment as the store holds it, which is UTC."""
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def _spans(numbers: list[int]) -> Iterator[tuple[int, int]]:
    """Runs of numbers one after another."""
    start = None
    for i, number in enumerate(numbers):
        start = number if start is None else start
        if i + 1 == len(numbers) or numbers[i + 1] != number + 1:
            yield start, number
            start = None


def _span(first: int, last: int) -> str:
    return str(first) if first == last else f"{first} to {last}"
