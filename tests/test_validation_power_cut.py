"""A short slice of the power cuts, the model of the disk by itself, and files that must be whole."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest
from validation._disk import Call, Disk, NoStrace
from validation.power_cut import tried

from eggtooth.records.place import key_path, make_key
from eggtooth.records.whole import put_once, put_whole


@pytest.mark.slow
def test_nothing_noted_is_lost_when_the_power_goes(tmp_path: Path) -> None:
    """Holds with a control in the same run: on a disk that forgets its syncs, entries are lost."""
    if not shutil.which("strace"):
        pytest.skip("strace is not installed: apt-get install strace")
    try:
        assert tried(tmp_path.resolve(), batches=8, cuts=40, seed=5, reopened=1) == []
    except NoStrace as none:
        pytest.skip(str(none))


def hexed(text: str) -> str:
    return '"' + "".join(f"\\x{byte:02x}" for byte in text.encode()) + '"'


def write(path: str, text: str, offset: int) -> Call:
    return Call("pwrite64", path, f"{hexed(text)}, {len(text)}, {offset}", str(len(text)))


def left(disk: Disk, tmp_path: Path, seed: int) -> dict[str, str]:
    to = tmp_path / f"cut{seed}"
    to.mkdir()
    disk.cut(to, random.Random(seed))
    return {file.name: file.read_text() for file in to.iterdir()}


def test_what_was_synced_is_there_and_the_rest_may_be(tmp_path: Path) -> None:
    disk = Disk(Path("/house"))
    disk.play(Call("openat", "/house/log", "O_RDWR|O_CREAT", "3"))
    disk.play(write("/house/log", "a" * 512, 0))
    disk.play(Call("fsync", "/house/log", "", "0"))
    assert {len(left(disk, tmp_path, n)) for n in range(20)} == {0, 1}, "its name was not synced"
    disk.play(Call("fsync", "/house", "", "0"))
    disk.play(write("/house/log", "b" * 1024, 0))
    seen = {left(disk, tmp_path, 100 + n)["log"] for n in range(60)}
    a, b, none = "a" * 512, "b" * 512, "\0" * 512
    assert seen == {a, b + b, b, a + b}, "either sector may be there without the other"
    assert none + b not in seen, "what was synced is never taken away"
    disk.play(Call("fdatasync", "/house/log", "", "0"))
    assert {left(disk, tmp_path, 200 + n)["log"] for n in range(10)} == {b + b}


def test_a_key_is_made_once_and_one_that_was_cut_short_is_made_again(tmp_path: Path) -> None:
    store = tmp_path / "room.sqlite3"
    make_key(store)
    key = key_path(store)
    first = key.read_text()
    assert len(first.strip()) > 40 and key.stat().st_mode & 0o777 == 0o600
    make_key(store)
    assert key.read_text() == first
    key.write_text("")
    make_key(store)
    assert len(key.read_text().strip()) > 40 and [p.name for p in tmp_path.iterdir()] == [key.name]


def test_of_two_who_write_once_the_first_stays(tmp_path: Path) -> None:
    put_once(tmp_path / "x", b"first", 0o600)
    put_once(tmp_path / "x", b"second", 0o600)
    assert (tmp_path / "x").read_bytes() == b"first"
    put_whole(tmp_path / "x", b"third", 0o644)
    assert (tmp_path / "x").read_bytes() == b"third" and (tmp_path / "x").stat().st_mode & 0o777 == 0o644
