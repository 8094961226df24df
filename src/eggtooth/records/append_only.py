"""Triggers in the database: entries and voidings are only ever added, whoever holds the connection."""

from __future__ import annotations

from collections.abc import Iterator

from django.db import connections

GUARDED = {
    "records_entry": "entries are only added: void one and add another",
    "records_voiding": "voidings are only added",
}


FUNCTION = """
CREATE OR REPLACE FUNCTION records_only_added() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'restrict_violation'; END $$
"""


def guard(using: str = "default") -> None:
    """Make the triggers where they are missing. Raises `NotImplementedError` on a database they lack for."""
    connection = connections[using]
    statements = {"sqlite": _sqlite, "postgresql": _postgresql}.get(connection.vendor)
    if statements is None:
        raise NotImplementedError(f"no append-only triggers are written for {connection.vendor}")
    present = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for statement in statements({t: words for t, words in GUARDED.items() if t in present}):
            cursor.execute(statement)


def _sqlite(guarded: dict[str, str]) -> Iterator[str]:
    for table, words in guarded.items():
        for event in ("UPDATE", "DELETE"):
            yield (
                f"CREATE TRIGGER IF NOT EXISTS {table}_no_{event.lower()} BEFORE {event} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{words}'); END"
            )


def _postgresql(guarded: dict[str, str]) -> Iterator[str]:
    yield FUNCTION
    for table, words in guarded.items():
        yield (
            f"CREATE OR REPLACE TRIGGER {table}_only_added BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
            f"FOR EACH STATEMENT EXECUTE FUNCTION records_only_added('{words}')"
        )
