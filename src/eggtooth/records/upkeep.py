"""The store's connection, bringing its tables up to date, and where the two databases differ."""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from eggtooth.records.backups import TABLES, Unsound, back_up
from eggtooth.records.databases import database
from eggtooth.records.place import backups_folder, secret_key
from eggtooth.records.store import StoreFault

PLAIN = {"USER": "", "PASSWORD": "", "HOST": "", "PORT": "", "CONN_MAX_AGE": 0, "CONN_HEALTH_CHECKS": False}
WHERE = ("ENGINE", "NAME", "USER", "HOST", "PORT", "PASSWORD")
TURN = threading.Lock()
ALONE = 0x65676774
"""The number PostgreSQL knows our lock by; any would do."""


def point_at(store: Path, address: str) -> None:
    """Set Django up for this store; when a process changes stores (tests do), the connection follows.

    Raises `BadAddress`.
    """
    import django
    from django.apps import apps
    from django.conf import settings
    from django.db import connections

    os.environ["EGGTOOTH_STORE"] = str(store)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "eggtooth.records.settings")
    wanted = PLAIN | database(store, address)
    if not apps.ready:
        django.setup()
    now = connections.settings["default"]
    if any(str(now.get(name, "")) != str(wanted[name]) for name in WHERE):
        connections["default"].close()
        del connections["default"]
        now.update(wanted)
        settings.SECRET_KEY = secret_key(store)


def bring_up_to_date(store: Path) -> None:
    """Make or change the tables where they are behind: all changes with their triggers, or none.

    Each change alone would be kept before the note that it was made; whoever is killed between the two could
    never open the store again. Two that do so at once wait for each other.
    """
    from django.core.management import call_command
    from django.db import connection, transaction

    from eggtooth.records import append_only

    if not _behind():
        if append_only.lacking():
            with transaction.atomic():
                one_at_a_time()
                append_only.guard()
        return
    if connection.vendor == "sqlite":
        _keep_as_it_was(store)
    # SQLite: constraints are checked at the end of each change, and cannot be put off within a transaction.
    connection.disable_constraint_checking()
    try:
        with transaction.atomic():
            one_at_a_time()
            if _behind():
                call_command("migrate", verbosity=0, interactive=False)
    finally:
        connection.enable_constraint_checking()


def _behind() -> bool:
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def _keep_as_it_was(store: Path) -> None:
    """A copy of a store before it is changed; a new one has nothing to copy. Raises `StoreFault`."""
    from django.db import connection
    from django.utils import timezone

    if TABLES["entries"] not in connection.introspection.table_names():
        return
    connection.close()
    folder = backups_folder(store)
    try:
        back_up(store, folder, timezone.now())
    except (Unsound, OSError, sqlite3.Error) as fault:
        raise StoreFault(
            f"the store at {store} must be brought up to date, but no copy of it can be put into {folder} "
            f"first: {fault}"
        ) from fault


@contextmanager
def in_turn() -> Iterator[None]:
    """Threads that write to one SQLite file wait for each other here; SQLite itself would let them nap.

    One that is in a transaction already has had its turn.
    """
    from django.db import connection

    if connection.vendor != "sqlite" or connection.in_atomic_block:
        yield
        return
    with TURN:
        yield


def one_at_a_time() -> None:
    """Wait, in a transaction, for whoever else keeps several things together. SQLite does so of itself."""
    from django.db import connection

    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [ALONE])


def hold_still() -> None:
    """See the store of one moment until the transaction ends. SQLite does so of itself."""
    from django.db import connection

    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")


CARELESS = {
    "fsync": "a power cut can destroy the whole database",
    "full_page_writes": "a power cut can leave torn pages",
    "synchronous_commit": "a power cut can take what was answered as kept",
}
"""Settings of a PostgreSQL server that must not be off, and what comes of it."""


def careless() -> list[str]:
    """Settings of the store's server by which a power cut takes what was kept, in words; SQLite: none."""
    from django.db import connection

    if connection.vendor != "postgresql":
        return []
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT name FROM pg_settings WHERE name = ANY(%s) AND setting = 'off'", [list(CARELESS)]
        )
        off = {name for (name,) in cursor.fetchall()}
    return [
        f"PostgreSQL runs with {name}=off: {what}; turn it on in postgresql.conf and restart the server"
        for name, what in CARELESS.items()
        if name in off
    ]
