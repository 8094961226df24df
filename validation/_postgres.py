"""A PostgreSQL server of one's own for a while: on a Unix socket, in a folder that is thrown away."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

FASTER = ("-c fsync=off", "-c full_page_writes=off")
"""For tests that do not ask what a crash leaves."""


class NoServer(Exception):
    """PostgreSQL is not installed here."""


class Server:
    """One server in a folder."""

    def __init__(self, folder: Path, safe: bool) -> None:
        """Make its files. Raises `NoServer`. With `safe` it syncs to the disk, as a real one does."""
        self.folder, self.options = folder, () if safe else FASTER
        self.programs = _programs()
        if os.getuid() == 0:
            shutil.chown(folder, "postgres", "postgres")
        self.run(
            "initdb", "-D", self.data, "-U", "test", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "-N"
        )

    @property
    def data(self) -> str:
        """The folder of its tables."""
        return str(self.folder / "data")

    def run(self, program: str, *words: str) -> None:
        """Run one of its programs; the server refuses to be run by root."""
        who = {"user": "postgres", "group": "postgres", "extra_groups": []} if os.getuid() == 0 else {}
        home = os.environ | {"HOME": str(self.folder), "LC_ALL": "C.UTF-8"}
        subprocess.run(
            [str(self.programs / program), *words],
            check=True,
            cwd=self.folder,
            env=home,
            stdout=subprocess.DEVNULL,
            **who,  # type: ignore[call-overload]
        )

    def start(self) -> None:
        """Start, and wait until it answers; after a crash it first sets itself right."""
        words = ("-c listen_addresses=", "-c max_connections=100", f"-k '{self.folder}'", *self.options)
        log = str(self.folder / "log")
        self.run("pg_ctl", "-D", self.data, "-w", "-t", "120", "-l", log, "-o", " ".join(words), "start")

    def stop(self, how: str = "fast") -> None:
        """Stop; `immediate` is as a crash: nothing is finished."""
        self.run("pg_ctl", "-D", self.data, "-w", "-m", how, "stop")

    def address(self, name: str) -> str:
        """Where one of its databases is found."""
        return f"postgresql://test@/{name}?host={self.folder}"

    def make(self, name: str, like: str = "template1") -> str:
        """A new database, a copy of another one; returns its address."""
        self.say(f'CREATE DATABASE "{name}" TEMPLATE "{like}"')
        return self.address(name)

    def drop(self, name: str) -> None:
        """Take a database away, whoever is in it."""
        self.say(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')

    def empty(self, name: str) -> None:
        """Take all rows out of a store's tables, past the triggers that forbid it, and whoever is in it."""
        import psycopg

        self.say(f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'")
        with psycopg.connect(self.address(name)) as connection:
            tables = connection.execute(
                "SELECT tablename FROM pg_tables WHERE schemaname = 'public' AND tablename NOT IN "
                "('django_migrations', 'django_content_type', 'auth_permission')"
            ).fetchall()
            connection.execute("SET session_replication_role = replica")
            names = ", ".join(f'"{table}"' for (table,) in tables)
            connection.execute(f"TRUNCATE {names} RESTART IDENTITY")  # type: ignore[arg-type]

    def say(self, statement: str) -> None:
        """One statement outside any transaction."""
        import psycopg

        with psycopg.connect(self.address("postgres"), autocommit=True) as connection:
            connection.execute(statement)  # type: ignore[call-overload]


def _programs() -> Path:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: int(p.parent.name))
    on_path = shutil.which("initdb")
    if not found and not on_path:
        raise NoServer("PostgreSQL is not installed: apt-get install postgresql")
    return found[-1] if found else Path(str(on_path)).parent


@contextmanager
def server(safe: bool = True) -> Iterator[Server]:
    """A running server, stopped and thrown away at the end. Raises `NoServer`."""
    _programs()
    with tempfile.TemporaryDirectory(prefix="egg-pg-", ignore_cleanup_errors=True) as folder:
        made = Server(Path(folder), safe)
        made.start()
        try:
            yield made
        finally:
            made.stop("immediate")
