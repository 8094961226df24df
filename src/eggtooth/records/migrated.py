"""Which changes of the store a file has seen, told without Django."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from eggtooth.records.backups import reading

KNOWN = Path(__file__).parent / "migrations"


def newer_than_known(file: Path) -> str:
    """The name of a change this Eggtooth does not know, or nothing."""
    known = {path.stem for path in KNOWN.glob("0*.py")}
    with reading(file) as connection:
        try:
            rows = connection.execute("SELECT name FROM django_migrations WHERE app = 'records' ORDER BY id")
        except sqlite3.OperationalError:
            return ""
        return next((name for (name,) in rows if name not in known), "")
