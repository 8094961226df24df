"""The power goes at any moment of a house's first notes: what was answered as kept is there when it is back.

A process makes a store, notes (one entry or twenty at a time, some taken back) and copies the store half-way,
under strace. Its writes and syncs are played on a model of the disk (`_disk`), which is cut at many moments:
what was synced is there, of the rest any part. Each disk that is left is looked into:

- no entry is missing that was answered as kept, and what was sent together is there together or not at all;
- SQLite's own check finds nothing; the secret key is whole once the store was made;
- the copy is there, sound and with its count, once it was told;
- the store opens and takes notes again (at some of the cuts, in a new process).

The same record played on a disk that says it has synced and has not must lose entries: a loss would be seen.

Without a disk of one's own to cut this is as near as one comes: that the disk keeps what it says it has
synced is taken for granted. Where strace is missing this says so and tries nothing.
"""

from __future__ import annotations

import json
import os
import random
import sqlite3
import sys
import tempfile
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from uuid import UUID

from validation._disk import TEXT, Call, Disk, NoStrace, _bytes, calls, recorded
from validation.kills import InFile, Trial, prepare

BATCHES, CUTS, REOPENED = 400, 1500, 20
CONTROL = 60
Batch = dict[str, Any]


@dataclass
class Told:
    """What the process had answered up to a moment."""

    made: bool = False
    kept: set[int] = field(default_factory=set)
    copy: tuple[str, int] | None = None

    def hears(self, call: Call) -> None:
        """A line of its own."""
        text = TEXT.search(call.words)
        words = _bytes(text[1]).decode("utf-8", "replace").split() if text else []
        if words[:1] == ["made"]:
            self.made = True
        elif words[:1] == ["kept"]:
            self.kept.add(int(words[1]))
        elif words[:1] == ["copied"]:
            self.copy = words[1], int(words[2])


def main(batches: int = BATCHES, cuts: int = CUTS, seed: int = 1) -> bool:
    """Holds when nothing is lost at any cut, and a disk that does not sync is found out."""
    try:
        with tempfile.TemporaryDirectory() as folder:
            faults = tried(Path(folder).resolve(), batches, cuts, seed, REOPENED)
    except NoStrace as none:
        print(f"NOT TRIED: {none}")
        return True
    print("\n".join(faults[:20]))
    return not faults


def tried(folder: Path, batches: int, cuts: int, seed: int, reopened: int) -> list[str]:
    """Every fault of so many cuts. Raises `NoStrace`."""
    chance = random.Random(seed)
    trial = Trial(InFile(folder), chance)
    plan = [trial.batch() for _ in range(batches)]
    house, log = folder / "house", folder / "log"
    house.mkdir()
    mine = {"EGGTOOTH_STORE": str(house / "room.sqlite3"), "EGGTOOTH_DATABASE": "", "EGGTOOTH_BACKUPS": ""}
    environment = os.environ | mine | {"EGGTOOTH_BACKUPS": str(house / "backups")}
    words = [sys.executable, "-m", "validation._power_hand"]
    recorded(words, log, environment, "".join(json.dumps(batch) + "\n" for batch in plan))
    played = [call for call in calls(log) if _counts(call, house)]
    syncs = sum(call.name in ("fsync", "fdatasync") for call in played)
    faults = cut_often(played, house, plan, cuts, chance, reopened)
    lost = cut_often(played, house, plan, CONTROL, chance, 0, forgetful=True)
    print(
        f"{batches} batches, {len(played):,} calls ({syncs:,} syncs), cut {cuts:,} times: "
        f"{len(faults)} faults; on a disk that forgets, {len(lost)} at {CONTROL} cuts",
        flush=True,
    )
    return faults + ([] if lost else ["a disk that keeps nothing was not found out: this tries too little"])


def _counts(call: Call, house: Path) -> bool:
    own = call.name == "write" and call.path.startswith("pipe:")
    return own or str(house) in call.path or str(house).encode().hex() in call.words.replace("\\x", "")


def cut_often(
    played: list[Call],
    house: Path,
    plan: list[Batch],
    cuts: int,
    chance: random.Random,
    reopened: int,
    forgetful: bool = False,
) -> list[str]:
    """Play the record once and cut it at so many moments, most of them right after something was told."""
    told, disk, faults = Told(), Disk(house, forgetful), list[str]()
    after_words = [i for i, call in enumerate(played) if call.path.startswith("pipe:")]
    moments = sorted(
        chance.choice((chance.randrange(len(played)), chance.choice(after_words))) for _ in range(cuts)
    )
    opened = set(chance.sample(range(cuts), reopened))
    at = 0
    for n, moment in enumerate(moments):
        for call in played[at : moment + 1]:
            told.hears(call) if call.path.startswith("pipe:") else disk.play(call)
        at = moment + 1
        with tempfile.TemporaryDirectory() as left:
            disk.cut(Path(left), chance)
            faults += [f"cut at call {moment + 1:,}: {fault}" for fault in faults_of(Path(left), told, plan)]
            if n in opened:
                faults += [f"cut at call {moment + 1:,}: {fault}" for fault in opens_again(Path(left))]
    return faults


def faults_of(left: Path, told: Told, plan: list[Batch]) -> list[str]:
    """What is not as it must be on a disk."""
    file, found = left / "room.sqlite3", list[str]()
    if not told.made and not file.exists():
        return found
    key = left / "room.sqlite3.key"
    if told.made and not (key.exists() and len(key.read_text("ascii", "replace").strip()) > 40):
        found.append("the secret key is gone or cut short")
    if told.copy:
        found += _of_the_copy(left / "backups" / told.copy[0], told.copy[1])
    try:
        with closing(sqlite3.connect(file)) as connection:
            return found + _of_the_store(connection, told, plan)
    except sqlite3.DatabaseError as fault:
        return [*found, f"the store cannot be read: {fault}"]


def _of_the_store(connection: sqlite3.Connection, told: Told, plan: list[Batch]) -> list[str]:
    if connection.execute("PRAGMA integrity_check").fetchall() != [("ok",)]:
        return ["the store is not sound"]
    if (
        not told.made
        and not connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'records_entry'").fetchall()
    ):
        return []
    there = {UUID(str(key)).hex for (key,) in connection.execute("SELECT key FROM records_entry")}
    back = {
        UUID(str(key)).hex
        for (key,) in connection.execute(
            "SELECT e.key FROM records_voiding v JOIN records_entry e ON e.seq = v.entry_id"
        )
    }
    found = list[str]()
    for batch in plan:
        here = [key in there for key, _ in batch["entries"]]
        if batch["id"] in told.kept and not all(here):
            found.append(f"batch {batch['id']} was kept and {here.count(False)} of it are gone")
        if any(here) and not all(here):
            found.append(f"batch {batch['id']} is there by half")
        if batch["id"] in told.kept and batch["void"] and batch["void"] not in back:
            found.append(f"entry {batch['void']} was taken back and is in force")
    return found


def _of_the_copy(copy: Path, entries: int) -> list[str]:
    if not copy.exists():
        return ["the copy was told and is gone"]
    try:
        with closing(sqlite3.connect(copy)) as connection:
            sound = connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            (count,) = connection.execute("SELECT COUNT(*) FROM records_entry").fetchone()
    except sqlite3.DatabaseError as fault:
        return [f"the copy cannot be read: {fault}"]
    return [] if sound and count == entries else [f"the copy has {count} entries of {entries}"]


def opens_again(left: Path) -> list[str]:
    """What goes wrong when the store is opened and written to by a new process."""
    try:
        prepare(InFile(left))
    except Exception as fault:
        return [f"the store does not open again: {fault}"]
    return []


if __name__ == "__main__":
    sys.exit(not main(*map(int, sys.argv[1:])))
