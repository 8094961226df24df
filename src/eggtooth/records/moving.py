"""The whole store into another database, row by row with the same numbers; compared before it counts."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from itertools import islice
from pathlib import Path
from typing import Any, NamedTuple

from django.apps import apps
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, connections, models, transaction

from eggtooth.records import upkeep
from eggtooth.records.backups import making_in
from eggtooth.records.databases import postgresql, sqlite
from eggtooth.records.whole import to_disk

OTHER = "moving"
CHUNK = 2000
CHUNK_OF = {"Photo": 20}
"""Rows at once, where 2,000 of them would fill the memory."""
Rows = Iterator[tuple[Any, ...]]
Tell = Callable[[str, int], None]


class NotEmpty(ValueError):
    """There is something where the store was to go; the message says what."""


class Differs(RuntimeError):
    """What arrived is not what was sent; nothing was kept."""


class Moved(NamedTuple):
    """One table: how many rows it has, and the SHA-256 of them all."""

    table: str
    rows: int
    digest: str


def move_to_server(address: str, tell: Tell) -> list[Moved]:
    """Copy the open store into an empty PostgreSQL database, all of it or nothing.

    Whoever else wants to write here waits meanwhile. Raises `BadAddress`, `NotEmpty` or `Differs`.
    """
    with _other(postgresql(address)):
        return _copied(tell, alone=True)


def move_to_file(file: Path, tell: Tell) -> list[Moved]:
    """Copy the open store into a new SQLite file. Raises `NotEmpty` or `Differs`."""
    if file.exists():
        raise NotEmpty(f"{file} is there already; name a new file")
    file.parent.mkdir(parents=True, exist_ok=True)
    with making_in(file.parent) as making:
        moved = write_file(making, tell, alone=True)
        to_disk(making)
        making.replace(file)
    to_disk(file.parent)
    return moved


def write_file(making: Path, tell: Tell, alone: bool = False) -> list[Moved]:
    """Copy the store of one moment into an empty SQLite file. With `alone` nobody writes meanwhile."""
    with _other(sqlite(making)):
        moved = _copied(tell, alone)
    with closing(sqlite3.connect(making)) as plain:
        plain.execute("PRAGMA journal_mode=DELETE")
    return moved


@contextmanager
def _other(settings: dict[str, Any]) -> Iterator[None]:
    """A second connection beside the store's own."""
    connections.settings[OTHER] = connections.settings["default"] | upkeep.PLAIN | settings
    try:
        yield
    finally:
        connections[OTHER].close()
        del connections[OTHER], connections.settings[OTHER]


def _copied(tell: Tell, alone: bool) -> list[Moved]:
    other = connections[OTHER]
    other.disable_constraint_checking()  # SQLite: its tables can be made only so
    with transaction.atomic(), transaction.atomic(using=OTHER):
        _hold(alone)
        call_command("migrate", database=OTHER, verbosity=0, interactive=False)
        tables = [_copy(model, tell) for model in _models()]
        other.check_constraints()
        _go_on_counting()
    other.enable_constraint_checking()
    return tables


def _hold(alone: bool) -> None:
    """See one moment of the store; with `alone` nobody writes until the end."""
    upkeep.hold_still()
    if alone and connection.vendor == "postgresql":
        names = ", ".join(connection.ops.quote_name(m._meta.db_table) for m in _models())
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {names} IN SHARE MODE")


def _models() -> list[type[models.Model]]:
    """All tables of ours. Sessions are left: whoever was signed in signs in again."""
    return list(apps.get_app_config("records").get_models())


def _copy(model: type[models.Model], tell: Tell) -> Moved:
    """All rows of a table, read back and compared. Raises `NotEmpty` or `Differs`."""
    table, there = model._meta.db_table, model._base_manager.using(OTHER)
    if there.exists():
        raise NotEmpty(f"the other database holds something already, in {table}; name an empty one")
    names = [field.attname for field in model._meta.concrete_fields]
    sent, rows, count = hashlib.sha256(), _rows(model, "default"), 0
    while chunk := list(islice(rows, _at_once(model))):
        for row in chunk:
            sent.update(_as_bytes(row))
        there.bulk_create([model(**dict(zip(names, row, strict=True))) for row in chunk])
        count += len(chunk)
        tell(table, count)
    arrived, n = hashlib.sha256(), 0
    for n, row in enumerate(_rows(model, OTHER), 1):  # noqa: B007  counted
        arrived.update(_as_bytes(row))
    if (n, arrived.digest()) != (count, sent.digest()):
        raise Differs(f"{table}: {count:,} rows were sent, {n:,} arrived, or they differ; nothing was kept")
    return Moved(table, count, sent.hexdigest())


def _rows(model: type[models.Model], using: str) -> Rows:
    names = [field.attname for field in model._meta.concrete_fields]
    found = model._base_manager.using(using).order_by("pk").values_list(*names)
    return iter(found.iterator(chunk_size=_at_once(model)))


def _at_once(model: type[models.Model]) -> int:
    return CHUNK_OF.get(model.__name__, CHUNK)


def _as_bytes(row: tuple[Any, ...]) -> bytes:
    """A row in one form, whichever database it comes from."""
    return json.dumps(row, default=_plain, sort_keys=True, ensure_ascii=False).encode() + b"\n"


def _plain(value: object) -> str:
    """What JSON has no form for; one database gives the bytes of a photo, the other a view of them."""
    return hashlib.sha256(value).hexdigest() if isinstance(value, bytes | memoryview) else str(value)


def _go_on_counting() -> None:
    """New rows get numbers after those that came; PostgreSQL does not see that of itself."""
    other = connections[OTHER]
    with other.cursor() as cursor:
        for statement in other.ops.sequence_reset_sql(no_style(), _models()):
            cursor.execute(statement)
