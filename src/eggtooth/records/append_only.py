"""Triggers in the database: entries and voidings are only ever added, whoever holds the connection."""

from __future__ import annotations

from django.db import connections

GUARDED = {
    "records_entry": "entries are only added: void one and add another",
    "records_voiding": "voidings are only added",
}


def guard(using: str = "default") -> None:
    """Make the triggers where they are missing. Raises `NotImplementedError` on a database they lack for."""
    connection = connections[using]
    if connection.vendor != "sqlite":
        raise NotImplementedError(f"no append-only triggers are written for {connection.vendor} yet")
    present = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for table, words in GUARDED.items():
            for event in ("UPDATE", "DELETE"):
                if table in present:
                    cursor.execute(
                        f"CREATE TRIGGER IF NOT EXISTS {table}_no_{event.lower()} BEFORE {event} ON {table} "
                        f"BEGIN SELECT RAISE(ABORT, '{words}'); END"
                    )
