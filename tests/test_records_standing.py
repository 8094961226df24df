"""The copy of the colony a process keeps: never older than the store, whoever wrote to it, and always equal
to what is read anew."""

from __future__ import annotations

import random
import subprocess
import sys
from datetime import date, datetime, timedelta
from pathlib import Path
from uuid import UUID, uuid4

import pytest
from django.test import Client

from eggtooth.engine.colony import Animal, Colony, Incubator, Sex, Tub, Wish
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.records import standing, store

ON = date(2026, 2, 4)
TAGS = [f"F{n}" for n in range(6)] + [f"M{n}" for n in range(3)]


@pytest.fixture
def room(fresh_store: Path) -> Path:
    store.save_animals(
        Animal(t, Sex.FEMALE if t[0] == "F" else Sex.MALE, tub=Tub("A", 1, n)) for n, t in enumerate(TAGS)
    )
    store.save_incubators([Incubator("BOX", 2, 31.5)])
    return fresh_store


def read_anew() -> Colony:
    """The colony as a process that kept nothing reads it."""
    kept = standing._kept
    standing.forget()
    found = store.colony()
    standing._kept = kept
    return found


def some_entry(luck: random.Random) -> Entry:
    on = ON - timedelta(days=luck.randrange(5))
    at = luck.choice([None, datetime(on.year, on.month, on.day, luck.randrange(24))])
    key, tag = UUID(int=luck.getrandbits(128)).hex, luck.choice(TAGS)
    what = luck.randrange(4)
    if what == 0:
        return Entry(key, on, at, "BOX", Kind.TEMPERATURE, 31.0 + luck.random(), None)
    if what == 1:
        other = luck.choice([t for t in TAGS if t != tag])
        return Entry(key, on, at, tag, luck.choice([Kind.PAIRED, Kind.LOCK, Kind.PARTED]), None, other)
    if what == 2:
        return Entry(key, on, at, tag, Kind.MOVED, None, f"B-1-{luck.randrange(9)}")
    return Entry(key, on, at, tag, Kind.MEAL, float(luck.randrange(3)), None, "Ada", "small")


@pytest.mark.parametrize("seed", range(3))
def test_equal_to_what_is_read_anew_after_any_change(room: Path, seed: int) -> None:
    luck = random.Random(seed)
    for _ in range(40):
        what = luck.randrange(6)
        if what == 0 and (noted := store.entries()):
            store.void(UUID(luck.choice(noted).id), "Ada", "slip")
        elif what == 1:
            store.save_animals([Animal(luck.choice(TAGS), Sex.FEMALE, f"name {luck.random():.3f}")])
        elif what == 2:
            store.save_wishes([Wish("Clown", luck.random())])
        else:
            store.add_entries([some_entry(luck) for _ in range(luck.randrange(1, 4))])
        assert store.colony() == read_anew()


def test_the_same_object_while_nothing_changes_and_untouched_animals_stay(room: Path) -> None:
    store.add_entries([Entry(uuid4().hex, ON, None, t, Kind.MEAL, 1.0, None) for t in TAGS])
    before = store.colony()
    assert store.colony() is before
    store.add_entries([Entry(uuid4().hex, ON, None, "F1", Kind.MEAL, 1.0, None)])
    after = store.colony()
    assert len(after.of_animal("F1")) == 2 and len(before.of_animal("F1")) == 1
    assert all(after.of_animal(t) is before.of_animal(t) for t in TAGS if t != "F1")


OTHER = """
import sys
from datetime import date
from uuid import UUID
from eggtooth.records import store
from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.entries import Entry, Kind
store.open_store()
for line in sys.stdin:
    what, key = line.split()
    if what == "note":
        store.add_entries([Entry(key, date(2026, 2, 4), None, "F1", Kind.WEIGHT, 1500.0, None)])
    elif what == "void":
        store.void(UUID(key), "other", "slip")
    else:
        store.save_animals([Animal(key, Sex.FEMALE, "new here")])
    print(len(store.colony().of_animal("F1")), flush=True)
"""


def test_two_processes_that_write_see_each_other_at_once(room: Path) -> None:
    other = subprocess.Popen(
        [sys.executable, "-c", OTHER], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert other.stdin and other.stdout

    def does(what: str, key: str) -> int:
        assert other.stdin and other.stdout
        print(what, key, file=other.stdin, flush=True)
        return int(other.stdout.readline())

    theirs, mine = uuid4().hex, uuid4().hex
    with other:
        assert does("note", theirs) == 1 == len(store.colony().of_animal("F1"))
        store.add_entries([Entry(mine, ON, None, "F1", Kind.MEAL, 1.0, None)])
        assert does("animal", "NEW") == 2 and "NEW" in store.colony().animals
        store.void(UUID(theirs), "me", "slip")
        assert [e.id for e in store.colony().of_animal("F1")] == [mine]
        assert does("void", mine) == 0 and store.colony().of_animal("F1") == ()
        other.stdin.close()


def test_a_transaction_sees_its_own_and_leaves_nothing_behind_when_it_fails(room: Path) -> None:
    before = store.colony()
    with pytest.raises(RuntimeError), store.all_or_nothing():
        store.add_entries([Entry(uuid4().hex, ON, None, "F1", Kind.MEAL, 1.0, None)])
        assert len(store.colony().of_animal("F1")) == 1
        raise RuntimeError
    assert store.colony() == before and store.colony().of_animal("F1") == ()


@pytest.mark.sqlite
def test_another_store_under_the_same_name_is_noticed(room: Path) -> None:
    """As when a backup is put back while the pages are served."""
    from django.db import connection

    connection.close()
    backup = room.read_bytes()
    store.add_entries([Entry(uuid4().hex, ON, None, "F1", Kind.MEAL, 1.0, None)])
    assert len(store.colony().of_animal("F1")) == 1
    connection.close()
    for end in ("-wal", "-shm"):
        Path(f"{room}{end}").unlink(missing_ok=True)
    room.write_bytes(backup)
    assert store.colony().of_animal("F1") == ()


def test_a_page_after_a_note_and_after_undo_shows_it(room: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EGGTOOTH_TODAY", ON.isoformat())
    client, key = Client(), uuid4().hex
    here = {"HTTP_HOST": "127.0.0.1"}

    def mass() -> bool:
        return b"1234" in client.get("/animal/F1", **here).content

    assert not mass()
    tap = {"tap": f"{key}|grams|F1|", "number": "1234", "on": ON.isoformat()}
    assert client.post("/note", tap, **here).status_code == 302
    assert mass()
    client.post("/undo", {"id": key}, **here)
    assert not mass()


def test_settings_of_another_process_change_the_round(room: Path) -> None:
    from eggtooth.jobs.day import day

    first = day(ON)
    store.save_settings(Settings(female_meal_days=14), "other")
    assert day(ON).settings != first.settings
