"""The store: entries are only added, one sent twice is kept once, the tables refuse what cannot be."""

from __future__ import annotations

import os
import sqlite3
import stat
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import IntegrityError, connection

from eggtooth.engine.colony import Animal, Colony, Incubator, Sex, State, Tub, Wish
from eggtooth.engine.entries import Entry, Kind, LabTest, Prey, Sign
from eggtooth.engine.house import Settings
from eggtooth.records import store

DAY = date(2026, 1, 5)
M1 = Animal("M1", Sex.MALE, "Rowan", date(2020, 6, 1), "Clown", tub=Tub("A", 1, 1))
M2 = Animal("M2", Sex.MALE)
F1 = Animal("F1", Sex.FEMALE, hatched=date(2020, 6, 2), state=State.LOAN, note="shy")
CHILD = Animal("C1", sires=("M2", "M1"), dam="F1", hatched=date(2023, 7, 1), clutch="F1-23")


def said(
    kind: Kind, value: float | None = None, detail: object = None, tag: str = "F1", **more: object
) -> Entry:
    entry = Entry(uuid4().hex, DAY, None, tag, kind, value, None)
    return entry._replace(detail=detail, **more)  # type: ignore[arg-type]


ENTRIES = [
    said(Kind.WEIGHT, 1520.5, by="Ada", note="after her shed"),
    said(Kind.MEAL, 2.0, Prey("medium rat", 90.0)),
    said(Kind.SCAN, 21.0, 7),
    said(Kind.LOCK, None, "M1", at=datetime(2026, 1, 5, 7, 30)),
    said(Kind.SIGN, None, Sign.GLOW),
    said(Kind.TEST, None, LabTest("Clown", 1, 0.02)),
    said(Kind.MOVED, None, "B-2-1"),
    said(Kind.RESTED, None, "worn", tag="M1"),
    said(Kind.TEMPERATURE, 31.5, "probe 1", tag="I1"),
]


@pytest.fixture
def room(fresh_store: Path) -> Path:
    store.save_animals([CHILD, M1, M2, F1])  # the child first: parents may come later
    store.save_wishes([Wish("Clown Piebald", 2.5, 3)])
    store.save_incubators([Incubator("I1", 6, 31.5)])
    assert store.add_entries(ENTRIES) == len(ENTRIES)
    return fresh_store


def test_what_goes_in_comes_out(room: Path) -> None:
    wishes, boxes = [Wish("Clown Piebald", 2.5, 3)], [Incubator("I1", 6, 31.5)]
    assert store.colony() == Colony.of([CHILD, M1, M2, F1], ENTRIES, wishes, boxes)
    assert list(store.colony().animals) == ["C1", "M1", "M2", "F1"]
    assert store.entries() == store.entries_on(DAY) == ENTRIES
    assert store.entries_on(date(2026, 1, 6)) == []
    assert store.entry(UUID(ENTRIES[0].id)) == ENTRIES[0]
    assert store.entry(uuid4()) is None


def test_animals_may_be_changed(room: Path) -> None:
    store.save_animals([replace(CHILD, name="Wren", sires=("M1",), dam="")])
    assert store.colony().animals["C1"] == replace(CHILD, name="Wren", sires=("M1",), dam="")
    assert list(store.colony().animals) == ["C1", "M1", "M2", "F1"]
    with pytest.raises(ValueError, match="F9 is not an animal here"):
        store.save_animals([replace(CHILD, dam="F9")])
    assert store.colony().animals["C1"].name == "Wren"


def test_sending_an_entry_twice_keeps_it_once(room: Path) -> None:
    assert store.add_entries([*ENTRIES, said(Kind.SHED)]) == 1
    assert len(store.entries()) == len(ENTRIES) + 1


def test_a_voided_entry_is_gone_from_the_colony_but_not_from_the_store(room: Path) -> None:
    key = UUID(ENTRIES[0].id)
    store.void(key, by="Ada", why="the other animal")
    store.void(key, by="Ben", why="again")
    assert store.entry(key) is None and ENTRIES[0] not in store.entries()
    ((entry, by, _, why),) = store.voided()
    assert (entry, by, why) == (ENTRIES[0], "Ada", "the other animal")
    assert store.add_entries([ENTRIES[0]]) == 0 and store.entry(key) is None
    with pytest.raises(ValueError, match="there is no entry"):
        store.void(uuid4(), by="", why="")


@pytest.mark.parametrize("table", ["records_entry", "records_voiding"])
@pytest.mark.parametrize("change", ["DELETE FROM {}", "UPDATE {} SET {} = 'x'"])
def test_nobody_changes_or_deletes_an_entry_in_the_database(room: Path, table: str, change: str) -> None:
    store.void(UUID(ENTRIES[0].id), by="Ada", why="")
    connection.close()
    outside, refused = by_plain_driver(room)
    column = {"records_entry": "note", "records_voiding": "why"}[table]
    with pytest.raises(refused, match="only added"):
        outside.execute(change.format(table, column))
    outside.close()


def by_plain_driver(room: Path) -> tuple[Any, type[Exception]]:
    """A connection that knows nothing of Django, and what it raises where a trigger refuses."""
    if address := os.environ.get("EGGTOOTH_DATABASE"):
        import psycopg

        return psycopg.connect(address), psycopg.IntegrityError
    return sqlite3.connect(room), sqlite3.IntegrityError


def test_nobody_changes_or_deletes_an_entry_in_python(room: Path) -> None:
    from eggtooth.records import models

    row = models.Entry.objects.first()
    assert row is not None
    for act in (
        row.save,
        row.delete,
        models.Entry.objects.all().delete,
        lambda: models.Entry.objects.update(note="x"),
    ):
        with pytest.raises(TypeError, match="only added"):
            act()


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (said(Kind.WEIGHT), "a weight is missing"),
        (said(Kind.WEIGHT, float("nan")), "is not a number"),
        (said(Kind.WEIGHT, float("inf")), "is not a number"),
        (said(Kind.SHED, 3.0), "shed has no value"),
        (said(Kind.SHED, tag="F-1"), "F-1 is not an animal here; did you mean F1"),
        (said(Kind.LOCK, None, "F1"), "is the animal itself"),
        (said(Kind.LOCK, None, "M9"), "M9 is not an animal here"),
        (said(Kind.SIGN, None, "happy"), "is not a sign"),
        (said(Kind.SHED)._replace(id="log:3"), "is not a UUID"),
    ],
)
def test_entries_that_cannot_be_are_refused_and_none_is_kept(room: Path, entry: Entry, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        store.add_entries([said(Kind.SHED), entry])
    assert store.entries() == ENTRIES


BROKEN = [
    ("entry_kind", {"kind": "dance"}),
    ("entry_about_one", {"animal_id": None}),
    ("entry_about_one", {"place": "I1"}),
    ("entry_value", {"value": None}),
    ("entry_value", {"kind": "shed"}),
    ("entry_value_finite", {"value": -1.0}),
    ("entry_value_finite", {"value": float("inf")}),
    ("entry_with_other", {"other_id": 1}),
    ("entry_with_other", {"kind": "lock", "value": None}),
    ("entry_not_self", {"kind": "lock", "value": None, "other_id": 2}),
    ("entry_detail", {"kind": "sign", "value": None}),
    ("entry_on", {"on": date(1890, 1, 1)}),
]


@pytest.mark.parametrize(("name", "wrong"), BROKEN)
def test_the_tables_refuse_what_no_entry_can_say(room: Path, name: str, wrong: dict[str, object]) -> None:
    from eggtooth.records import models

    with pytest.raises(IntegrityError, match=name):
        models.Entry(**{"on": DAY, "animal_id": 2, "kind": "weight", "value": 9.0} | wrong).save()


def test_settings_are_dated_and_go_back(fresh_store: Path) -> None:
    assert store.settings() == Settings()
    store.save_settings(Settings(pairing_nights=(1, 2), fahrenheit=True, cool_from=(12, 1)), by="Ada")
    assert store.settings().pairing_nights == (1, 2) and store.settings().cool_from == (12, 1)
    store.save_settings(Settings(), by="Ben")
    assert [s.by for s in store.settings_past()] == ["Ada", "Ben"] and store.settings() == Settings()


@pytest.mark.parametrize(
    "wrong", [[], {"moon": 1}, {"fahrenheit": 1}, {"pairing_nights": ["Monday"]}, {"cool_from": [13, 1]}]
)
def test_settings_that_cannot_be(fresh_store: Path, wrong: object) -> None:
    from eggtooth.records.house import settings_from

    with pytest.raises(ValueError):
        settings_from(wrong)


@pytest.mark.sqlite
def test_the_store_is_safe_on_disk_and_its_key_is_private(fresh_store: Path) -> None:
    with connection.cursor() as cursor:
        for pragma, value in (("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1)):
            cursor.execute(f"PRAGMA {pragma}")
            assert cursor.fetchone() == (value,)
    key = fresh_store.with_name(fresh_store.name + ".key")
    assert stat.S_IMODE(key.stat().st_mode) & 0o077 == 0
    assert len(key.read_text().strip()) >= 50


def test_a_store_that_is_no_store(tmp_path: Path, django_db_blocker: object, empty_store: Path) -> None:
    path = tmp_path / "x.sqlite3"
    path.write_text("this is not a database, whatever its name says; it is only some text" * 20)
    with django_db_blocker.unblock(), pytest.raises(store.StoreFault, match="cannot be opened"):  # type: ignore[attr-defined]
        store.open_store(path)
    connection.close()


def test_no_migration_is_missing(fresh_store: Path) -> None:
    from django.core.management import call_command

    call_command("makemigrations", "records", check=True, dry_run=True, verbosity=0)
