"""Keeping what a hand noted, and voiding it again."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from eggtooth.engine.entries import Entry, Kind
from eggtooth.records import store


def note(key: UUID, on: date, tag: str, kind: Kind, value: float | None, detail: str, by: str) -> str:
    """Keep one entry under the id the page made; returns the id. Sending it twice keeps it once.

    Raises `ValueError` when the animal, or the other one, is not known here.
    """
    entry = Entry(str(key), on, None, tag, kind, value, detail or None, by)
    store.add_entries([entry])
    return entry.id


def undo(key: UUID, by: str) -> None:
    """Void an entry. Raises `ValueError` when there is no such entry."""
    store.void(key, by=by, why="undone")


def kept(key: str) -> Entry | None:
    """The entry with this id if it is kept and not voided; `None` for anything else."""
    try:
        return store.entry(UUID(key))
    except ValueError:
        return None
