"""Putting a copy in the place of the store. What was there is kept aside first, sound or not."""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from eggtooth.records.backups import (
    WRITTEN,
    Counts,
    Unsound,
    copy_store,
    hold_still,
    look_into,
    making_in,
    reading,
)
from eggtooth.records.migrated import newer_than_known
from eggtooth.records.whole import to_disk

BESIDE = ("-wal", "-shm", "-journal")
KEPT = ("", "-wal", "-journal")  # what SQLite can make anew is left


class InUse(Exception):
    """Somebody has the store open; the message says what to do."""


class Restored(NamedTuple):
    """What a restore did. `before` is `None` where the store was missing or could not be read."""

    before: Counts | None
    after: Counts
    aside: Path | None
    damage: str


def restore(file: Path, store: Path, folder: Path, when: datetime) -> Restored:
    """Put the copy `file` in the place of `store`; the present store goes to `folder` first.

    Raises `Unsound` when the copy is not sound, or made by a newer Eggtooth; `InUse` when the store is open
    elsewhere; `OSError` or `sqlite3.Error` when something cannot be written. The store is as it was then.
    """
    after = look_into(file)
    if unknown := newer_than_known(file):
        raise Unsound(f"{file} was written by a newer Eggtooth (it has {unknown}); update first")
    if store.exists() and file.samefile(store):
        raise Unsound(f"{file} is the store itself; name one of its copies")
    store.parent.mkdir(parents=True, exist_ok=True)
    if not store.exists():
        _put(file, store)
        return Restored(None, after, None, "")
    try:
        before = look_into(store)
    except Unsound as unsound:
        return _over_damaged(file, store, folder, when, str(unsound), after)
    return Restored(before, after, _over_sound(file, store, folder, when), "")


def _over_sound(file: Path, store: Path, folder: Path, when: datetime) -> Path:
    """Keep the store aside and write the copy over it, in one transaction and with nobody else in between."""
    with closing(_alone(store)) as present, reading(file) as copy:
        aside = _aside(store, folder, when, "before-restore")
        with making_in(folder) as making:
            with closing(sqlite3.connect(making)) as kept:
                present.backup(kept)
            look_into(making)
            to_disk(making)
            making.replace(aside)
            to_disk(folder)
        hold_still(copy)
        copy.backup(present)
    return aside


def _alone(store: Path) -> sqlite3.Connection:
    """The store with its lock held until the connection is closed. Raises `InUse`."""
    for place in (store, store.parent):
        if not os.access(place, os.W_OK):  # or SQLite would say only "disk I/O error"
            raise PermissionError(errno.EACCES, "this cannot be written", str(place))
    present = sqlite3.connect(store, timeout=1, isolation_level=None)
    try:
        present.execute("PRAGMA locking_mode=EXCLUSIVE")
        present.execute("PRAGMA journal_mode=DELETE")  # fails while anybody else has the store open
        present.execute("BEGIN EXCLUSIVE")
        present.execute("COMMIT")
    except sqlite3.OperationalError as fault:
        present.close()
        if "locked" in str(fault):
            raise InUse(
                f"{store} is open elsewhere; stop `eggtooth serve` and whatever else uses it"
            ) from None
        raise
    return present


def _over_damaged(
    file: Path, store: Path, folder: Path, when: datetime, damage: str, after: Counts
) -> Restored:
    """Keep the damaged store's files aside as they are, then put the copy in their place."""
    if "locked" in damage:
        raise InUse(f"{store} is open elsewhere; stop `eggtooth serve` and whatever else uses it")
    folder.mkdir(parents=True, exist_ok=True)
    aside = _aside(store, folder, when, "damaged")
    for end in KEPT:
        if (part := store.with_name(store.name + end)).exists():
            kept = aside.with_name(aside.name + end)
            shutil.copy2(part, kept)
            to_disk(kept)
    to_disk(folder)
    _put(file, store)
    return Restored(None, after, aside, damage)


def _put(file: Path, store: Path) -> None:
    """The copy under the store's name, whole or not at all. A former store's log goes first."""
    with making_in(store.parent) as making:
        copy_store(file, making)
        look_into(making)
        to_disk(making)
        for end in BESIDE:
            store.with_name(store.name + end).unlink(missing_ok=True)
        making.replace(store)
    to_disk(store.parent)


def _aside(store: Path, folder: Path, when: datetime, why: str) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    name = f"{store.stem}-{why}-{when.astimezone(UTC):{WRITTEN}}"
    names = (folder / f"{name}{f'-{n}' if n else ''}.sqlite3" for n in range(10_000))
    return next(file for file in names if not file.exists())
