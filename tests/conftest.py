"""Fixtures shared by all tests."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from eggtooth.cli import main

# In CI the drawn cases are the same in every run, so that red means a change; at a desk they are always new.
settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("ci")

Tasks = list[dict[str, Any]]
AskRound = Callable[[str, str, str], Tasks]

ANIMALS_HEAD = "tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note\n"
LOG_HEAD = "date,tag,kind,value,detail\n"


def lines(text: str) -> str:
    """The lines of an indented block, without indents and blank lines."""
    return "".join(f"{line.strip()}\n" for line in text.splitlines() if line.strip())


@pytest.fixture(autouse=True)
def no_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test sees the store of whoever runs the tests, or that of another test."""
    monkeypatch.setenv("EGGTOOTH_STORE", str(tmp_path / "none.sqlite3"))
    for name in ("EGGTOOTH_TODAY", "EGGTOOTH_DATABASE", "EGGTOOTH_BACKUPS", "EGGTOOTH_SECRET_KEY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv(
        "EGGTOOTH_WORK", "here"
    )  # no worker runs beside the tests, but for those of the worker
    monkeypatch.setenv(
        "EGGTOOTH_SIGN_IN", "0"
    )  # as `serve` on one machine does; doors have tests of their own


@pytest.fixture
def ask_round(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> AskRound:
    """Ask the command line for the round of a colony written out by hand."""

    def ask(animals: str, log: str, on: str) -> Tasks:
        (tmp_path / "animals.csv").write_text(ANIMALS_HEAD + lines(animals))
        (tmp_path / "log.csv").write_text(LOG_HEAD + lines(log))
        files = ["--animals", str(tmp_path / "animals.csv"), "--log", str(tmp_path / "log.csv")]
        code = main(["round", *files, "--on", on, "--json"])
        out = capsys.readouterr()
        assert code == 0, out.err
        answer = json.loads(out.out)
        assert answer["on"] == on
        tasks: Tasks = answer["tasks"]
        return tasks

    return ask


def of_kind(tasks: Tasks, kind: str, tag: str | None = None) -> Tasks:
    """Lines of one kind, about one animal if a tag is given (as the one carried or the one visited)."""
    return [t for t in tasks if t["kind"] == kind and tag in (None, t["tag"], t["with"])]


@pytest.fixture(scope="session")
def database_server() -> Iterator[Any]:
    """The PostgreSQL server of this run where `EGGTOOTH_TEST_DATABASE=postgresql`, else `None`."""
    asked = os.environ.get("EGGTOOTH_TEST_DATABASE", "sqlite")
    assert asked in ("sqlite", "postgresql"), f"EGGTOOTH_TEST_DATABASE is {asked}"
    if asked == "sqlite":
        yield None
        return
    from validation._postgres import server

    with server(safe=False) as started:
        yield started


def pytest_collection_modifyitems(items: list[pytest.Item], config: pytest.Config) -> None:
    """Over PostgreSQL only tests with a store are of interest, and of these not the ones of SQLite's file."""
    if os.environ.get("EGGTOOTH_TEST_DATABASE") == "postgresql":
        chosen = [i for i in items if "fresh_store" in i.fixturenames and not i.get_closest_marker("sqlite")]  # type: ignore[attr-defined]
        config.hook.pytest_deselected(items=[i for i in items if i not in set(chosen)])
        items[:] = chosen


@pytest.fixture(scope="session")
def empty_store(
    tmp_path_factory: pytest.TempPathFactory, django_db_blocker: Any, database_server: Any
) -> Path:
    """A store with no animals in it, made once; each test copies it."""
    from django.db import connection

    from eggtooth.records import store

    path = tmp_path_factory.mktemp("store") / "empty.sqlite3"
    with pytest.MonkeyPatch.context() as patch, django_db_blocker.unblock():
        if database_server:
            patch.setenv("EGGTOOTH_STORE", str(path))
            patch.setenv("EGGTOOTH_DATABASE", database_server.make("room"))
        store.open_store(None if database_server else path)
        connection.close()
    return path


@pytest.fixture
def fresh_store(
    empty_store: Path,
    tmp_path: Path,
    django_db_blocker: Any,
    database_server: Any,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[Path]:
    """A real store of its own, as in use: its triggers forbid the flushing other test helpers do."""
    import shutil

    from django.db import connection

    from eggtooth.records import store

    path = tmp_path / "room.sqlite3"
    for end in (".key",) if database_server else ("", ".key"):
        shutil.copy(f"{empty_store}{end}", f"{path}{end}")
    monkeypatch.setenv("EGGTOOTH_STORE", str(path))
    if database_server:
        database_server.empty("room")
        monkeypatch.setenv("EGGTOOTH_DATABASE", database_server.address("room"))
    with django_db_blocker.unblock():
        yield store.open_store(None if database_server else path)
        connection.close()
