"""Copies of the store. Each is one file, checked before it counts. Knows nothing of Django.

A copy is made by SQLite's online backup (https://www.sqlite.org/backup.html): it is the store of one moment,
whoever writes meanwhile. SQLite keeps no checksums, so a check finds broken pages, tables and indexes, but
not a letter changed inside a text.
"""

from __future__ import annotations

import os
import re
import sqlite3
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote

from eggtooth.records.thinning import superfluous
from eggtooth.records.whole import to_disk

TABLES = {"animals": "records_animal", "entries": "records_entry", "voided": "records_voiding"}
WAIT_SECONDS = 20
LONGEST_TOLD = 120
ABANDONED = timedelta(days=1)
MAKING = ".making-"
WRITTEN = "%Y-%m-%dT%H%M%SZ"


class Unsound(Exception):
    """A file that is no sound store; the message says what was found."""


class Counts(NamedTuple):
    """How much a store holds."""

    animals: int
    entries: int
    voided: int

    def __str__(self) -> str:
        """For people."""
        return f"{self.animals:,} animals, {self.entries:,} entries, {self.voided:,} of them taken back"


class Backup(NamedTuple):
    """One copy of a store, and the moment it was made."""

    file: Path
    when: datetime


@contextmanager
def reading(file: Path) -> Iterator[sqlite3.Connection]:
    """A connection that cannot write. Works on a read-only disk too, where a store lies at rest."""
    address = f"file:{quote(str(file.absolute()))}?mode=ro"
    beside = file.with_name(file.name + "-wal")
    if not os.access(file.parent, os.W_OK) and not beside.exists():
        address += "&immutable=1"  # else SQLite wants to put files beside it, and cannot
    with closing(
        sqlite3.connect(address, uri=True, timeout=WAIT_SECONDS, isolation_level=None)
    ) as connection:
        yield connection


def look_into(file: Path) -> Counts:
    """Check a store's file from end to end and count what it holds. Raises `Unsound`."""
    if not file.is_file():
        raise Unsound(f"{file} is not there")
    try:
        with reading(file) as connection:
            return _sound(file, connection)
    except sqlite3.OperationalError as fault:  # locked, unreadable: nothing is known of what it holds
        raise Unsound(f"{file} cannot be read: {fault}") from fault
    except sqlite3.DatabaseError as fault:
        raise Unsound(f"{file} is damaged: {fault}") from fault


def _sound(file: Path, connection: sqlite3.Connection) -> Counts:
    there = {name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    if missing := sorted(set(TABLES.values()) - there):
        raise Unsound(f"{file} is not a store of Eggtooth: it has no table {missing[0]}")
    found = [text for (text,) in connection.execute("PRAGMA integrity_check(5)")]
    if found != ["ok"]:
        raise Unsound(f"{file} is damaged: {' '.join(' '.join(found).split())[:LONGEST_TOLD]}")
    if stray := connection.execute("PRAGMA foreign_key_check").fetchone():
        raise Unsound(f"{file} is damaged: row {stray[1]} of {stray[0]} names a row of {stray[2]} not there")
    return Counts(*(connection.execute(f"SELECT COUNT(*) FROM {t}").fetchone()[0] for t in TABLES.values()))


def back_up(
    store: Path, folder: Path, when: datetime, write: Callable[[Path], object] | None = None
) -> tuple[Backup, Counts]:
    """Copy the store into the folder under the moment's name, check the copy, then thin the older ones.

    `write` writes the copy where the store is no file.
    Raises `Unsound` when the copy is not sound, for then the store is not: the older copies all stay. Raises
    `OSError` or `sqlite3.Error` when it cannot be written; nothing half-made stays.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with making_in(folder) as making:
        write(making) if write else copy_store(store, making)
        try:
            counts = look_into(making)
        except Unsound as fault:  # the copy is as the store is, and the store is what people know
            raise Unsound(str(fault).replace(str(making), str(store))) from fault
        to_disk(making)
        file = _free(folder, store.stem, when)
        making.replace(file)
        to_disk(folder)
    _thin(folder, store.stem, when)
    return Backup(file, when), counts


@contextmanager
def making_in(folder: Path) -> Iterator[Path]:
    handle, name = tempfile.mkstemp(prefix=MAKING, dir=folder)
    os.close(handle)
    try:
        yield Path(name)
    finally:
        for end in ("", "-journal", "-wal", "-shm"):
            Path(name + end).unlink(missing_ok=True)


def copy_store(store: Path, to: Path) -> None:
    """The store of this moment as one file, without the log SQLite keeps beside it."""
    if not store.is_file():  # or SQLite would say only that it cannot open it
        raise FileNotFoundError(2, "there is no store", str(store))
    with reading(store) as source, closing(sqlite3.connect(to)) as copy:
        hold_still(source)
        source.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")


def hold_still(connection: sqlite3.Connection) -> None:
    """Keep the store of this moment before the eyes. Without it a copy of a locked store waits for ever."""
    connection.execute("BEGIN")
    connection.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()


def _free(folder: Path, stem: str, when: datetime) -> Path:
    """A name that is not taken: a clock may show the same second twice."""
    name = f"{stem}-{when.astimezone(UTC):{WRITTEN}}"
    taken = (folder / f"{name}{f'-{n}' if n else ''}.sqlite3" for n in range(10_000))
    return next(file for file in taken if not file.exists())


def backups_in(folder: Path, stem: str) -> list[Backup]:
    """Copies of this store in a folder, oldest first by the moment in the name."""
    name = re.compile(rf"{re.escape(stem)}-(\d{{4}}-\d\d-\d\dT\d{{6}}Z)(-\d+)?\.sqlite3")
    found = []
    for file in folder.iterdir() if folder.is_dir() else ():
        if (said := name.fullmatch(file.name)) and file.is_file():
            found.append(Backup(file, datetime.strptime(said[1], WRITTEN).replace(tzinfo=UTC)))
    return sorted(found, key=lambda b: (b.when, len(b.file.name), b.file.name))


def _thin(folder: Path, stem: str, now: datetime) -> None:
    _forget(backup.file for backup in superfluous(backups_in(folder, stem), lambda b: b.when))
    old = (now - ABANDONED).timestamp()
    _forget(f for f in folder.glob(f"{MAKING}*") if f.stat().st_mtime < old)


def _forget(files: Iterable[Path]) -> None:
    for file in files:
        file.unlink(missing_ok=True)
