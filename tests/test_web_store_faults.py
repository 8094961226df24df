"""A store that cannot be used: the page says so in words, keeps nothing, and goes on afterwards."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path
from uuid import uuid4

import pytest
from django.db import OperationalError, connection
from django.test import Client

from eggtooth.engine.colony import Animal, Sex
from eggtooth.records import store

HERE = {"HTTP_HOST": "127.0.0.1", "HTTP_ACCEPT": "application/json"}


@pytest.fixture
def page(fresh_store: Path) -> Client:
    store.save_animals([Animal("F1", Sex.FEMALE)])
    return Client(raise_request_exception=False)


def note(page: Client, key: str) -> tuple[int, str]:
    said = {"tap": f"{key}|grams|F1|", "number": "1500", "on": "2026-01-13"}
    answer = page.post("/note", said, **HERE)  # type: ignore[arg-type]
    return answer.status_code, answer.content.decode()


@pytest.mark.sqlite
def test_locked_by_somebody_else(page: Client, fresh_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(connection.settings_dict["OPTIONS"], "timeout", 0.1)
    connection.close()
    key = uuid4().hex
    with sqlite3.connect(fresh_store, isolation_level=None) as other:
        other.execute("BEGIN IMMEDIATE")
        status, words = note(page, key)
        assert (
            status == 503
            and "somebody else has been writing" in words
            and "Nothing of this was kept" in words
        )
        other.execute("ROLLBACK")
    other.close()
    assert not store.entries()
    assert note(page, key)[0] == 200 and [e.id for e in store.entries()] == [key]


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("database or disk is full", "the disk is full"),
        ("attempt to write a readonly database", "may not be written"),
        ("database disk image is malformed", "eggtooth restore"),
        (
            'connection to server at "db", user "ada" refused',
            "does not answer. Whether this was kept is not known",
        ),
    ],
)
def test_each_fault_has_its_words(
    page: Client, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str], fault: str, words: str
) -> None:
    monkeypatch.setattr(store, "add_entries", failing(OperationalError(fault)))
    status, said = note(page, uuid4().hex)
    assert status == 503 and words in said and "ada" not in said
    assert fault in capfd.readouterr().err


def test_another_fault_stays_a_plain_500(page: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "add_entries", failing(RuntimeError("not the store's")))
    status, said = note(page, uuid4().hex)
    assert status == 500 and "store" not in said


def failing(fault: Exception) -> Callable[..., int]:
    def fail(*_: object, **__: object) -> int:
        raise fault

    return fail
