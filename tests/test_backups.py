"""Copies of the store and the way back: nothing is lost, and what is wrong is told in clear words."""

from __future__ import annotations

import json
import os
import resource
import shutil
import sqlite3
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eggtooth.cli import main
from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.engine.entries import Entry, Kind
from eggtooth.jobs import backing_up
from eggtooth.jobs.take_out import texts
from eggtooth.records import backups, store
from eggtooth.records.thinning import LATEST, superfluous

NOON = datetime(2026, 1, 13, 12, tzinfo=UTC)
Read = pytest.CaptureFixture[str]

pytestmark = pytest.mark.sqlite


def grams(count: int, first: int = 1000) -> list[Entry]:
    day = date(2026, 1, 13)
    return [Entry(uuid4().hex, day, None, "F1", Kind.WEIGHT, float(first + i), None) for i in range(count)]


@pytest.fixture
def room(fresh_store: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A store with one female and 3,000 weights, nobody using it."""
    monkeypatch.setenv("EGGTOOTH_STORE", str(fresh_store))
    store.save_animals([Animal("F1", Sex.FEMALE, tub=Tub("A", 1, 1))])
    store.add_entries(grams(3000))
    left_alone()
    return fresh_store


def left_alone() -> None:
    from django.db import connection

    connection.close()


def said() -> dict[str, str]:
    """The whole store as text."""
    store.open_store()
    told = texts()
    left_alone()
    return told


def break_in_the_middle(file: Path) -> None:
    """Overwrite a sixteenth of the file with noise."""
    with sqlite3.connect(file) as plain:
        plain.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    plain.close()
    size = file.stat().st_size
    with file.open("r+b") as out:
        out.seek(size // 2)
        out.write(b"\xa5" * (size // 16))


def test_a_copy_brings_the_store_back_as_it_was(room: Path, tmp_path: Path, capsys: Read) -> None:
    before = said()
    assert main(["backup", str(tmp_path / "usb"), "--json"]) == 0
    made = json.loads(capsys.readouterr().out)
    assert made["animals"] == 1 and made["entries"] == 3000
    store.open_store()
    store.add_entries(grams(5))
    left_alone()
    later = said()
    assert main(["restore", made["file"]]) == 0
    out = capsys.readouterr().out
    assert "Before: 1 animals, 3,005 entries" in out and "Now:    1 animals, 3,000 entries" in out
    left_alone()
    assert said() == before
    (aside,) = (tmp_path / "backups").glob("room-before-restore-*")
    assert main(["restore", str(aside)]) == 0
    left_alone()
    assert said() == later


def test_a_copy_can_be_made_while_others_write_and_holds_one_moment(room: Path) -> None:
    store.open_store()
    store.add_entries(grams(1))
    with sqlite3.connect(room, timeout=1, isolation_level=None) as writer:
        writer.execute("BEGIN IMMEDIATE")
        writer.execute("INSERT INTO records_wish (text, weight, count) VALUES ('Clown', 1, 1)")
        copy, counts = backing_up.back_up()
        writer.execute("COMMIT")
    writer.close()
    assert counts.entries == 3001
    with sqlite3.connect(copy.file) as plain:
        assert plain.execute("SELECT COUNT(*) FROM records_wish").fetchone() == (0,)
    plain.close()


def test_no_copy_is_made_of_a_damaged_store_and_the_sound_ones_stay(room: Path, capsys: Read) -> None:
    for day in range(3):
        backups.back_up(room, room.parent / "backups", NOON + timedelta(days=day))
    break_in_the_middle(room)
    assert main(["backup"]) == 1
    assert f"{room} is damaged" in capsys.readouterr().err
    assert len(backups.backups_in(room.parent / "backups", "room")) == 3
    assert not list((room.parent / "backups").glob(".making*"))


def test_a_damaged_store_is_kept_aside_byte_for_byte_and_the_copy_takes_its_place(
    room: Path, tmp_path: Path, capsys: Read
) -> None:
    before = said()
    copy, _ = backing_up.back_up()
    break_in_the_middle(room)
    broken = room.read_bytes()
    assert main(["restore", str(copy.file)]) == 0
    out = capsys.readouterr().out
    assert "is damaged" in out and "Before: not known" in out
    left_alone()
    assert said() == before
    (aside,) = (tmp_path / "backups").glob("room-damaged-*.sqlite3")
    assert aside.read_bytes() == broken


def test_a_missing_store_comes_back(room: Path, capsys: Read) -> None:
    before = said()
    copy, _ = backing_up.back_up()
    for part in room.parent.glob("room.sqlite3*"):
        part.unlink()
    assert main(["restore", str(copy.file)]) == 0
    assert "Before: no store" in capsys.readouterr().out
    left_alone()
    assert said() == before


@pytest.mark.parametrize("wrong", ["half", "middle", "text", "other", "none", "empty"])
def test_what_is_no_sound_copy_is_refused_and_the_store_stays(
    room: Path, tmp_path: Path, capsys: Read, wrong: str
) -> None:
    before, (copy, _) = said(), backing_up.back_up()
    file = tmp_path / f"{wrong}.sqlite3"
    if wrong in ("half", "middle"):
        shutil.copy(copy.file, file)
    if wrong == "half":
        os.truncate(file, file.stat().st_size // 2)
    elif wrong == "middle":
        break_in_the_middle(file)
    elif wrong == "text":
        file.write_text("no store at all" * 100)
    elif wrong == "empty":
        file.touch()
    elif wrong == "other":
        with sqlite3.connect(file) as plain:
            plain.execute("CREATE TABLE x (y)")
        plain.close()
    assert main(["restore", str(file)]) == 1
    err = capsys.readouterr().err
    assert file.name in err and "The store is as it was." in err
    assert said() == before


def test_a_copy_by_a_newer_version_is_refused(room: Path, capsys: Read) -> None:
    copy, _ = backing_up.back_up()
    with sqlite3.connect(copy.file) as plain:
        plain.execute(
            "INSERT INTO django_migrations (app, name, applied) VALUES ('records', '9999_x', '2030-01-01')"
        )
    plain.close()
    assert main(["restore", str(copy.file)]) == 1
    assert "newer Eggtooth (it has 9999_x)" in capsys.readouterr().err


def test_a_store_in_use_is_not_restored_over(room: Path, capsys: Read) -> None:
    copy, _ = backing_up.back_up()
    before = said()
    with sqlite3.connect(room) as elsewhere:
        elsewhere.execute("SELECT COUNT(*) FROM records_entry").fetchone()
        assert main(["restore", str(copy.file)]) == 1
    elsewhere.close()
    assert "is open elsewhere; stop `eggtooth serve`" in capsys.readouterr().err
    assert said() == before


def test_an_older_store_is_copied_before_it_is_brought_up_to_date(tmp_path: Path, fresh_store: Path) -> None:
    path = tmp_path / "old" / "old.sqlite3"
    path.parent.mkdir()
    plain = sqlite3.connect(path)
    plain.executescript((Path(__file__).parent / "stores" / "0001.sql").read_text())
    plain.close()
    counts = backups.look_into(path)
    store.open_store(path)
    (copy,) = backups.backups_in(tmp_path / "old" / "backups", "old")
    assert backups.look_into(copy.file) == counts and counts.entries > 0
    with sqlite3.connect(copy.file) as plain:
        names = {name for (name,) in plain.execute("SELECT name FROM sqlite_master")}
    plain.close()
    assert "records_person" not in names


def test_an_older_store_that_cannot_be_copied_is_not_changed(
    tmp_path: Path, fresh_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "old.sqlite3"
    plain = sqlite3.connect(path)
    plain.executescript((Path(__file__).parent / "stores" / "0001.sql").read_text())
    plain.close()
    (tmp_path / "file").touch()
    monkeypatch.setenv("EGGTOOTH_BACKUPS", str(tmp_path / "file"))
    with pytest.raises(store.StoreFault, match="no copy of it can be put into"):
        store.open_store(path)
    left_alone()
    with sqlite3.connect(path) as plain:
        names = {name for (name,) in plain.execute("SELECT name FROM sqlite_master")}
    plain.close()
    assert "records_person" not in names


# Run in a process of its own: the limit on the size of files, and the user who may not write, are its own.
OWN_PROCESS = "import sys; from eggtooth.cli import main; sys.exit(main(sys.argv[1:]))"


def run_apart(*words: str, **how: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", OWN_PROCESS, *words],
        capture_output=True,
        text=True,
        timeout=60,
        cwd=Path(__file__).parents[1] / "src",
        **how,
    )


def test_a_disk_that_fills_up_while_copying(room: Path, tmp_path: Path) -> None:
    """A limit on the size of each file stands for the full disk: writing past it fails."""
    before, size = said(), room.stat().st_size
    full = lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size // 2, size // 2))  # noqa: E731
    done = run_apart("backup", preexec_fn=full)
    assert done.returncode == 1 and "no copy was made" in done.stderr, done.stderr
    assert not list((tmp_path / "backups").iterdir())
    copy, _ = backing_up.back_up()
    done = run_apart("restore", str(copy.file), preexec_fn=full)
    assert done.returncode == 1 and "The store is as it was." in done.stderr, done.stderr
    assert said() == before


def test_a_disk_that_cannot_be_written(room: Path, tmp_path: Path, fresh_store: Path) -> None:
    before, (copy, _) = said(), backing_up.back_up()
    apart: dict[str, Any] = {"user": "nobody", "group": "nogroup"} if os.getuid() == 0 else {}
    for part in (tmp_path, room, room.with_name(f"{room.name}.key"), tmp_path / "backups", copy.file):
        part.chmod(part.stat().st_mode & ~0o222 | 0o555)
    way = [p for p in tmp_path.parents if p.is_relative_to("/tmp") and p != Path("/tmp")]
    for folder in way if os.getuid() == 0 else ():
        folder.chmod(0o755)
    for words in (["backup"], ["restore", str(copy.file)]):
        done = run_apart(*words, **apart)
        assert done.returncode == 1 and ("denied" in done.stderr or "cannot be written" in done.stderr)
        assert "Traceback" not in done.stderr
    for part in (tmp_path, room, tmp_path / "backups"):
        part.chmod(0o755)
    assert said() == before


def test_a_store_locked_by_somebody_else_is_told(room: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(backups, "WAIT_SECONDS", 0.2)
    with sqlite3.connect(room, isolation_level=None) as hog:
        hog.execute("PRAGMA locking_mode=EXCLUSIVE")
        hog.execute("PRAGMA journal_mode=DELETE")
        hog.execute("BEGIN EXCLUSIVE")
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            backing_up.back_up()
        hog.execute("COMMIT")
    hog.close()
    assert not list((room.parent / "backups").iterdir())


@given(
    st.lists(st.integers(0, 3 * 365 * 24), min_size=1, max_size=150, unique=True),
)
@settings(max_examples=50, deadline=None)
def test_thinning_keeps_all_of_late_one_a_week_and_one_a_month(hours: list[int]) -> None:
    copies = [NOON + timedelta(hours=h) for h in sorted(hours)]
    gone = superfluous(copies, lambda c: c)
    kept = [c for c in copies if c not in gone]
    assert set(copies[-LATEST:]) <= set(kept)
    assert {(c.year, c.month) for c in copies} == {(c.year, c.month) for c in kept}
    quarter = [c for c in copies if c > copies[-1] - timedelta(weeks=12)]
    assert {c.isocalendar()[:2] for c in quarter} <= {c.isocalendar()[:2] for c in kept}
    assert superfluous(kept, lambda c: c) == []


def test_three_years_of_daily_copies_stay_few() -> None:
    kept: list[datetime] = []
    for day in range(3 * 365):
        kept.append(NOON + timedelta(days=day))
        gone = superfluous(kept, lambda c: c)
        kept = [c for c in kept if c not in gone]
    assert len(kept) <= 14 + 13 + 37


def test_a_clock_put_back_or_run_wild_takes_no_copy_away(room: Path) -> None:
    folder = room.parent / "backups"
    days = [NOON + timedelta(days=d) for d in range(10)]
    wild = [*days, NOON.replace(year=2036), days[3], NOON.replace(year=1999), days[-1]]
    for when in wild:
        backups.back_up(room, folder, when)
    assert [b.when for b in backups.backups_in(folder, "room")] == sorted(wild)
    assert backing_up.due(wild[10:11], days[-1])  # a copy from the future proves nothing
    assert backing_up.due([], NOON) and backing_up.due([NOON - timedelta(hours=25)], NOON)
    assert not backing_up.due([NOON - timedelta(hours=23)], NOON)


def test_the_copy_of_the_day_is_made_once_and_faults_are_told(room: Path) -> None:
    told: list[str] = []
    daily = backing_up.Daily(told.append)
    daily.look()
    daily.look()
    assert len(told) == 1 and "3,000 entries" in told[0]
    for copy in (room.parent / "backups").iterdir():
        copy.unlink()
    break_in_the_middle(room)
    daily.look()
    assert "NO COPY OF THE STORE COULD BE MADE" in told[1] and "is damaged" in told[1]


def test_listing_checks_each_copy(room: Path, capsys: Read) -> None:
    assert main(["backup", "--list"]) == 0
    first, _ = backing_up.back_up()
    second, _ = backing_up.back_up()
    break_in_the_middle(second.file)
    capsys.readouterr()
    assert main(["backup", "--list"]) == 1
    good, bad = capsys.readouterr().out.splitlines()
    assert first.file.name in good and "3,000 entries" in good
    assert second.file.name in bad and "is damaged" in bad
