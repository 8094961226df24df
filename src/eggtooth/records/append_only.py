"""Triggers in the database: entries, voidings and the door book are only ever added to, whoever holds the
connection, and on PostgreSQL whoever is adding entries can be seen."""

from __future__ import annotations

from collections.abc import Iterator

from django.db import connections

from eggtooth.records.in_flight import WRITING

GUARDED = {
    "records_entry": "entries are only added: void one and add another",
    "records_voiding": "voidings are only added",
    "records_doornote": "the door book is only added to",
}


FUNCTION = """
CREATE OR REPLACE FUNCTION records_only_added() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'restrict_violation'; END $$
"""


WRITES = f"""
CREATE OR REPLACE FUNCTION records_writes() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN PERFORM pg_advisory_xact_lock_shared({WRITING}); RETURN NULL; END $$
"""
"""Whoever adds entries is known until they are kept, see `in_flight`."""
WRITES_TRIGGER = "records_entry_writes"


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
    if "records_entry" in guarded:
        yield WRITES
        yield (
            f"CREATE OR REPLACE TRIGGER {WRITES_TRIGGER} BEFORE INSERT ON records_entry "
            "FOR EACH STATEMENT EXECUTE FUNCTION records_writes()"
        )


def lacking(using: str = "default") -> bool:
    """Whether a store was made before all of these triggers were."""
    connection = connections[using]
    if connection.vendor != "postgresql":
        return False
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT to_regclass('records_entry') IS NOT NULL AND NOT EXISTS (SELECT 1 FROM pg_trigger "
            "WHERE tgrelid = to_regclass('records_entry') AND tgname = %s)",
            [WRITES_TRIGGER],
        )
        return bool(cursor.fetchone()[0])
