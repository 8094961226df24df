"""Reading a store with pages gone: what can be read is written out, what cannot is named."""

from __future__ import annotations

import json
import os
import re
import sqlite3
from pathlib import Path
from uuid import UUID

import pytest

from eggtooth.cli import main
from eggtooth.jobs.take_out import take_out_damaged
from eggtooth.records import store
from tests.test_backups import break_in_the_middle, left_alone, room, said

__all__ = ["room"]  # a fixture
Read = pytest.CaptureFixture[str]

pytestmark = pytest.mark.sqlite


def test_a_damaged_store_is_written_out_as_far_as_it_can_be_read(
    room: Path, tmp_path: Path, capsys: Read, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.open_store()
    first = store.entries()[0]
    store.void(UUID(first.id), "Ada", "the other one")
    left_alone()
    before = set(said()["log.csv"].splitlines())
    break_in_the_middle(room)
    assert main(["export", str(tmp_path / "plain")]) == 1
    assert "eggtooth export FOLDER --damaged" in capsys.readouterr().err
    assert main(["export", str(tmp_path / "out"), "--damaged"]) == 0
    lost = (tmp_path / "out" / "lost.txt").read_text()
    assert "cannot be read" in lost and lost == capsys.readouterr().err
    read = (tmp_path / "out" / "log.csv").read_text().splitlines()
    assert set(read) <= before and len(read) == len(set(read)) and len(read) > 2500
    spans = re.findall(r"^entry (\d+)(?: to (\d+))?: cannot", lost, re.M)
    gone = sum(int(b or a) - int(a) + 1 for a, b in spans) + lost.count("which cannot be")
    assert len(read) + gone == len(before)
    assert "the other one" in (tmp_path / "out" / "voided.csv").read_text()
    monkeypatch.setenv("EGGTOOTH_STORE", str(tmp_path / "new.sqlite3"))
    assert main(["import", str(tmp_path / "out"), "--on", "2026-02-01"]) == 0
    left_alone()


def test_a_sound_store_reads_the_same_the_slow_way(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The twin of the store's own reading, over a store with everything in it."""
    path = tmp_path / "old.sqlite3"
    plain = sqlite3.connect(path)
    plain.executescript((Path(__file__).parent / "stores" / "0001.sql").read_text())
    plain.close()
    monkeypatch.setenv("EGGTOOTH_STORE", str(path))
    files, lost = take_out_damaged(tmp_path / "out")
    told = json.loads((Path(__file__).parent / "stores" / "0001.json").read_text())
    assert not lost
    read = {f.name: f.read_text() for f in files if f.name != "lost.txt"}
    assert json.loads(read.pop("settings.json")) == json.loads(told.pop("settings.json"))
    assert read == told


def test_an_animal_that_is_gone_leaves_its_entries_under_a_stand_in(room: Path, tmp_path: Path) -> None:
    with sqlite3.connect(room) as plain:
        plain.execute("DELETE FROM records_animal")
    plain.close()
    _, lost = take_out_damaged(tmp_path / "out")
    assert lost == [
        "animal 1: cannot be read",
        "animal 1: not there; what names it stands under LOST-1",
    ]
    assert (tmp_path / "out" / "log.csv").read_text().count("LOST-1") == 3000


def test_a_store_without_its_first_page_is_told_plainly(room: Path, tmp_path: Path, capsys: Read) -> None:
    with room.open("r+b") as out:
        out.write(b"\xa5" * 4096)
    assert main(["export", str(tmp_path / "out"), "--damaged"]) == 1
    assert "cannot be read at all" in capsys.readouterr().err and not (tmp_path / "out").exists()


def test_a_store_cut_short_is_read_up_to_the_cut(
    room: Path, tmp_path: Path, capsys: Read, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = set(said()["log.csv"].splitlines())
    os.truncate(room, room.stat().st_size * 3 // 4)
    with pytest.raises(SystemExit, match="1"):
        main(["round", "--on", "2026-02-04"])
    assert "eggtooth restore FILE" in capsys.readouterr().err
    short = room.read_bytes()
    _, lost = take_out_damaged(tmp_path / "out")
    read = (tmp_path / "out" / "log.csv").read_text().splitlines()
    assert set(read) <= before and 1000 < len(read) < len(before)
    assert any(line.startswith("entry ") for line in lost) and room.read_bytes() == short
