"""Copies of the store: one when asked for, one a day while the pages are served, and the way back."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from eggtooth.records import backups, restoring
from eggtooth.records.backups import Backup, Counts, Unsound
from eggtooth.records.place import backups_folder, database_address, store_path
from eggtooth.records.restoring import Restored

__all__ = ["FAULTS", "Daily", "Restored", "Seen", "Unsound", "back_up", "due", "restore", "seen"]

DAY = timedelta(hours=24)
AHEAD = timedelta(minutes=5)
"""A copy dated later than this from now is from a clock that was put back; it proves nothing."""
LOOK_SECONDS = 15 * 60
FAULTS = (Unsound, restoring.InUse, OSError, sqlite3.Error)
"""What a copy or a way back may fail with; each says what was found."""


class Seen(NamedTuple):
    """One copy that is there: what it holds, or why it is of no use."""

    backup: Backup
    counts: Counts | None
    fault: str


def _here(folder: Path | None) -> tuple[Path, Path]:
    store = store_path().absolute()
    return store, (folder or backups_folder(store)).absolute()


def back_up(folder: Path | None = None) -> tuple[Backup, Counts]:
    """Copy the store now. Raises one of `FAULTS`."""
    store, folder = _here(folder)
    return backups.back_up(store, folder, datetime.now(UTC), _from_server if database_address() else None)


def _from_server(making: Path) -> None:
    """The database as a SQLite file, which is read anywhere."""
    from django.db import DatabaseError, connection

    from eggtooth.records import moving, store

    try:
        store.open_store()
        moving.write_file(making, lambda table, rows: None)
    except (store.StoreFault, DatabaseError, moving.Differs) as fault:
        raise Unsound(str(fault)) from fault
    finally:
        connection.close()  # the next copy is a day away


def restore(file: Path) -> Restored:
    """Put a copy in the place of the store, which is kept aside. Raises one of `FAULTS`."""
    store, folder = _here(None)
    if database_address():
        raise Unsound(
            "the store is a database: make an empty one there, and put the copy into it with "
            f"EGGTOOTH_DATABASE= EGGTOOTH_STORE={file} eggtooth move-store postgresql://…"
        )
    return restoring.restore(file.absolute(), store, folder, datetime.now(UTC))


def seen(folder: Path | None = None) -> list[Seen]:
    """All copies of the store in a folder, oldest first, each checked."""
    store, folder = _here(folder)
    return [_seen(backup) for backup in backups.backups_in(folder, store.stem)]


def _seen(backup: Backup) -> Seen:
    try:
        return Seen(backup, backups.look_into(backup.file), "")
    except Unsound as fault:
        return Seen(backup, None, str(fault))


def due(whens: list[datetime], now: datetime) -> bool:
    """Whether no copy was made within the last day."""
    return not any(now - DAY < when <= now + AHEAD for when in whens)


class Daily(threading.Thread):
    """Copies the store once a day, while the pages are served. What goes wrong is told."""

    def __init__(self, say: Callable[[str], None]) -> None:
        """`say` takes a line for whoever runs the server."""
        super().__init__(name="daily backup", daemon=True)
        self.say, self.over = say, threading.Event()

    def run(self) -> None:
        """Look now and then whether a copy is due."""
        while True:
            self.look()
            if self.over.wait(LOOK_SECONDS):
                return

    def look(self) -> None:
        """Make the copy if it is due."""
        store, folder = _here(None)
        try:
            if due([b.when for b in backups.backups_in(folder, store.stem)], datetime.now(UTC)):
                made, counts = back_up()
                self.say(f"Today's copy of the store is {made.file} ({counts}).")
        except FAULTS as fault:
            self.say(f"NO COPY OF THE STORE COULD BE MADE: {fault}")

    def stop(self) -> None:
        """Stop looking; a copy that is being made is finished first."""
        self.over.set()
        if self.is_alive():  # a server told to stop as it begins has not started it
            self.join()
