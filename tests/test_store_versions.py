"""A store of every earlier version opens, is brought up to date, and says what it said."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest

from eggtooth.jobs.take_out import texts
from eggtooth.records import store

STORES = Path(__file__).parent / "stores"
VERSIONS = sorted(p.stem for p in STORES.glob("*.sql"))

pytestmark = pytest.mark.sqlite


def test_every_version_since_the_first_is_kept_here() -> None:
    migrations = sorted(p.stem[:4] for p in Path(store.__file__).parent.glob("migrations/0*.py"))
    assert set(migrations[:-1]) <= set(VERSIONS), "keep a store of the version before this one"


@pytest.mark.parametrize("version", VERSIONS)
def test_an_earlier_store_says_what_it_said(version: str, tmp_path: Path, fresh_store: Path) -> None:
    path = tmp_path / "old.sqlite3"
    old = sqlite3.connect(path)
    old.executescript((STORES / f"{version}.sql").read_text())
    old.close()
    store.open_store(path)
    said, before = texts(), json.loads((STORES / f"{version}.json").read_text())
    now, then = (json.loads(t.pop("settings.json")) for t in (said, before))
    assert said == before
    for setting, old in zip(now, then, strict=True):  # a setting added since has its usual value
        assert setting | {"settings": None} == old | {"settings": None}
        assert old["settings"].items() <= setting["settings"].items()
    with sqlite3.connect(path) as now, pytest.raises(sqlite3.IntegrityError, match="only added"):
        now.execute("DELETE FROM records_entry")
    now.close()


def test_a_store_is_made_with_its_triggers_or_not_at_all(
    tmp_path: Path, fresh_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else one that was stopped half-way could never be opened again, or would forbid nothing."""
    path = tmp_path / "new.sqlite3"

    def stopped(using: str) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch, pytest.raises(KeyboardInterrupt):
        patch.setattr("eggtooth.records.append_only.guard", stopped)
        store.open_store(path)
    with sqlite3.connect(path) as plain:
        assert plain.execute("SELECT name FROM sqlite_master").fetchall() == []
    plain.close()
    store.open_store(path)
    assert not store.colony().animals
    with sqlite3.connect(path) as plain:
        assert len(plain.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()) == 6
    plain.close()


def test_people_of_a_store_before_first_passwords_keep_their_keys(tmp_path: Path, fresh_store: Path) -> None:
    path = tmp_path / "old.sqlite3"
    old = sqlite3.connect(path)
    old.executescript((STORES / "0004.sql").read_text())
    old.close()
    store.open_store(path)
    from django.contrib.auth import authenticate

    from eggtooth.records import door_book, people

    assert [(p.name, p.role, p.first_until) for p in people.everyone()] == [
        ("Ada", "owner", None),
        ("Ben", "helper", None),
    ]
    assert authenticate(None, username="Ben", password="four words of a helper") is not None
    ben = people.by_secret("an invented token of the scale", people.Purpose.INTERFACE)
    assert ben == people.Keeper("Ben", people.Role.HELPER)
    assert door_book.whole() == []
    people.change("Ben", role=people.Role.READER, by="Ada")
    with sqlite3.connect(path) as plain, pytest.raises(sqlite3.IntegrityError, match="only added to"):
        plain.execute("DELETE FROM records_doornote")
    plain.close()
