"""The queue of long work, on PostgreSQL: its schema, a job put into it, how one stands.

The queue is procrastinate's. A question waits once however often it is asked (queueing lock), and two workers
never work on the same one at once (lock).
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from threading import Lock
from typing import Any, NamedTuple

from eggtooth.jobs.long_work import shelf
from eggtooth.jobs.long_work.questions import Question
from eggtooth.records.place import database_address

SCHEMA = "eggtooth_work"
ALONE = 0x65676776
"""The lock under which the schema is made; any number would do."""
ALIVE_SECONDS = 30
"""A worker that has not been heard of for so long is taken for dead."""
QUEUE, TASK = "long_work", "work_out"

STANDING = f"""
SELECT j.status::text, j.args->>'state',
    (SELECT MAX(e.at) FROM procrastinate_events e WHERE e.job_id = j.id),
    (SELECT COUNT(*) FROM procrastinate_jobs o WHERE o.status IN ('todo', 'doing') AND o.id < j.id),
    COALESCE(w.last_heartbeat > now() - interval '{ALIVE_SECONDS} s', false)
FROM procrastinate_jobs j LEFT JOIN procrastinate_workers w ON w.id = j.worker_id
WHERE j.lock = %s AND j.status IN ('todo', 'doing')
"""
ANYBODY = f"""
SELECT EXISTS (
    SELECT 1 FROM procrastinate_workers WHERE last_heartbeat > now() - interval '{ALIVE_SECONDS} s')
"""


_open: dict[str, Any] = {}
_one_at_a_time = Lock()


class Standing(NamedTuple):
    """Where a question stands: since when it is worked on (or not yet), how many jobs are before it, and
    whether there is any worker."""

    since: datetime | None
    before: int
    anybody: bool


def used() -> bool:
    """Whether long work goes through the queue: over PostgreSQL, unless `EGGTOOTH_WORK=here`."""
    return bool(database_address()) and os.environ.get("EGGTOOTH_WORK", "") != "here"


def address() -> str:
    """The store's database, seen from the queue's own schema."""
    from psycopg.conninfo import conninfo_to_dict, make_conninfo

    said: dict[str, Any] = conninfo_to_dict(database_address())
    options = f"{said.pop('options', '')} -c search_path={SCHEMA}".strip()
    return make_conninfo(**({"connect_timeout": 20} | said | {"options": options}))


@contextmanager
def connected() -> Iterator[Any]:
    """A connection to the queue's schema, made if it is not there; everything inside is one transaction.

    A fault of the database is raised as one of the store's.
    """
    from django.db import OperationalError
    from procrastinate.exceptions import ConnectorException
    from psycopg import Error
    from psycopg_pool import PoolClosed, PoolTimeout

    try:
        with _app(address()).connector.pool.connection() as connection:
            yield connection
    except (Error, PoolTimeout, PoolClosed, ConnectorException) as fault:
        raise OperationalError(str(fault)) from fault


def close() -> None:
    """Close the connections of this process."""
    while _open:
        _open.popitem()[1].close()


def _app(where: str) -> Any:
    """The queue as a page uses it, by its address."""
    with _one_at_a_time:
        if where not in _open:
            _open[where] = _opened(where)
        return _open[where]


def _opened(where: str) -> Any:
    from procrastinate import App, SyncPsycopgConnector

    app = App(connector=SyncPsycopgConnector(conninfo=where, min_size=0, max_size=4, timeout=20))
    app.open()
    with app.connector.pool.connection() as connection:  # type: ignore[attr-defined]
        make(connection)
    return app


def make(connection: Any) -> None:
    """Make the schema with its tables, or bring them up to date; two that do so at once wait."""
    from procrastinate.schema import SchemaManager

    connection.execute("SELECT pg_advisory_xact_lock(%s)", [ALONE])
    connection.execute(f"CREATE SCHEMA IF NOT EXISTS {SCHEMA}")
    connection.execute("CREATE TABLE IF NOT EXISTS seen (change text PRIMARY KEY)")
    changes = _changes()
    seen = {change for (change,) in connection.execute("SELECT change FROM seen").fetchall()}
    if not seen:
        connection.execute(SchemaManager.get_schema())
    for name, statements in changes.items():
        if name not in seen:
            if seen:
                connection.execute(statements)
            connection.execute("INSERT INTO seen VALUES (%s)", [name])
    connection.execute(shelf.TABLE)


def _changes() -> dict[str, str]:
    """The queue's own changes of its tables, by name, in their order."""
    from pathlib import Path

    from procrastinate.schema import SchemaManager

    files = sorted(Path(SchemaManager.get_migrations_path()).glob("*.sql"))
    return {file.stem: file.read_text(encoding="utf-8") for file in files}


def put(question: Question, state: str) -> None:
    """Have a question worked out; nothing happens when it waits already."""
    from procrastinate.exceptions import AlreadyEnqueued

    with connected():
        app = _app(address())
        job = app.configure_task(
            TASK, queue=QUEUE, lock=question.digest, queueing_lock=question.digest, allow_unknown=True
        )
        try:
            job.defer(question=question.text(), state=state)
        except AlreadyEnqueued:
            return


def standing(connection: Any, question: str, state: str) -> Standing | None:
    """Where a question stands that is asked of this state; `None` when nobody will work on it."""
    anybody = is_anybody_there(connection)
    waiting: Standing | None = None
    for status, of_state, since, before, alive in connection.execute(STANDING, [question]).fetchall():
        if status == "todo" or not alive:  # what a dead worker had begun is taken up by the next
            waiting = waiting or Standing(None, before, anybody)
        elif of_state == state:
            waiting = Standing(since, 0, anybody)
    return waiting


def is_anybody_there(connection: Any) -> bool:
    """Whether any worker was heard of lately."""
    return bool(connection.execute(ANYBODY).fetchone()[0])
