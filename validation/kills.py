"""A hand killed at random moments, hundreds of times: what was answered as kept is kept, once, and whole.

A process of its own notes entries, one or twenty at a time, some taken back in the same breath, until it gets
SIGKILL: while it opens the store (one in ten, and the first time while the store is made) or up to 0.3 s
later. After each kill the store is looked into from outside:

- no entry is missing that was answered as kept, and none is there twice;
- what was sent together is there together or not at all;
- SQLite's own check of the whole file finds nothing, and PostgreSQL's tables answer.

What was sent and not answered is sent again by the next hand under the same ids, as a page does. Over
PostgreSQL the server too is stopped with `pg_ctl -m immediate`, as in a crash, every tenth time.

A kill takes the process, not the machine: for what a power cut takes see `power_cut`.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol
from uuid import UUID

from validation._postgres import NoServer, Server, server

KILLS = 500
LATEST_SECONDS = 0.3
TOGETHER = 20
SERVER_EVERY = 10
OPENING = 0.1
AHEAD = 2000
Batch = dict[str, Any]


class Store(Protocol):
    """A store under trial, looked at from outside."""

    def environment(self) -> dict[str, str]:
        """What tells a process where it is."""

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        """Ask the tables, past everything of ours."""

    def sound(self) -> bool:
        """Whether the database itself finds nothing wrong."""


@dataclass(slots=True)
class InFile:
    """A SQLite file."""

    folder: Path

    @property
    def file(self) -> Path:
        """The store."""
        return self.folder / "room.sqlite3"

    def environment(self) -> dict[str, str]:
        """See `Store`."""
        return {"EGGTOOTH_STORE": str(self.file), "EGGTOOTH_DATABASE": ""}

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        """See `Store`."""
        connection = sqlite3.connect(self.file, timeout=20)
        try:
            return connection.execute(query).fetchall()
        finally:
            connection.close()

    def sound(self) -> bool:
        """See `Store`."""
        return self.rows("PRAGMA integrity_check") == [("ok",)] and not self.rows("PRAGMA foreign_key_check")


@dataclass(slots=True)
class OnServer:
    """A database of a PostgreSQL server."""

    folder: Path
    server: Server

    def environment(self) -> dict[str, str]:
        """See `Store`."""
        return {
            "EGGTOOTH_STORE": str(self.folder / "room.sqlite3"),
            "EGGTOOTH_DATABASE": self.server.address("kills"),
        }

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        """See `Store`."""
        import psycopg

        with psycopg.connect(self.server.address("kills")) as connection:
            return connection.execute(query).fetchall()  # type: ignore[arg-type]

    def sound(self) -> bool:
        """Every row of the table can be read past its indexes."""
        (counted,) = self.rows("SELECT COUNT(*), COUNT(note) FROM records_entry")
        return counted[0] == counted[1]


@dataclass(slots=True)
class Trial:
    """What was sent and answered so far."""

    store: Store
    chance: random.Random
    batches: dict[int, Batch] = field(default_factory=dict)
    kept: set[int] = field(default_factory=set)
    open: list[int] = field(default_factory=list)
    numbers: int = 0

    def batch(self) -> Batch:
        """The next thing to send: one entry, twenty, or one that is taken back at once."""
        count = self.chance.choice((1, 1, 1, TOGETHER))
        keys = [UUID(int=self.chance.getrandbits(128), version=4).hex for _ in range(count)]
        entries = [(key, self.numbers + i) for i, key in enumerate(keys)]
        self.numbers += count
        which = len(self.batches)
        self.batches[which] = {
            "id": which,
            "entries": entries,
            "void": keys[0] if self.chance.random() < 0.2 else "",
        }
        return self.batches[which]

    def round(self, crash: Callable[[], None] | None = None) -> None:
        """One hand, killed, after `crash` if that is given."""
        plan = [self.batches[i] for i in self.open] + [self.batch() for _ in range(AHEAD)]
        if self.chance.random() < OPENING:
            hand, out = started(plan, self.store.environment())
            time.sleep(self.chance.random())
        else:
            hand, out = forked(plan, self.store.environment())
            os.read(out, 7)  # "ready"
            time.sleep(self.chance.random() * LATEST_SECONDS)
        if crash:
            crash()
        os.kill(hand, signal.SIGKILL)
        os.waitpid(hand, 0)
        with os.fdopen(out) as told:
            self.heard([line.split() for line in told.read().splitlines()])

    def heard(self, said: list[list[str]]) -> None:
        """Take in what the hand said; plans it never came to are forgotten."""
        sent = {int(words[1]) for words in said if words[0] == "sending"}
        kept = {int(words[1]) for words in said if words[0] == "kept"}
        self.kept |= kept
        self.open = sorted((sent | set(self.open)) - self.kept)
        for which in [w for w in self.batches if w not in self.kept and w not in self.open]:
            del self.batches[which]

    def faults(self) -> list[str]:
        """Everything that is not as it must be."""
        there = Counter(UUID(str(key)).hex for (key,) in self.store.rows("SELECT key FROM records_entry"))
        taken_back = {
            UUID(str(key)).hex
            for (key,) in self.store.rows(
                "SELECT e.key FROM records_voiding v JOIN records_entry e ON e.seq = v.entry_id"
            )
        }
        found = [f"entry {key} is there {n} times" for key, n in there.items() if n > 1]
        sent = {key for which in self.kept | set(self.open) for key, _ in self.batches[which]["entries"]}
        found += [f"entry {key} was never sent" for key in there.keys() - sent]
        for which in self.kept:
            batch = self.batches[which]
            found += [f"entry {key} was kept and is gone" for key, _ in batch["entries"] if key not in there]
            if batch["void"] and batch["void"] not in taken_back:
                found.append(f"entry {batch['void']} was taken back and is in force")
        for which in self.open:
            here = sum(key in there for key, _ in self.batches[which]["entries"])
            if here not in (0, len(self.batches[which]["entries"])):
                found.append(f"batch {which} is there by half: {here}")
        return found + ([] if self.store.sound() else ["the database is not sound"])


def started(plan: list[Batch], environment: dict[str, str]) -> tuple[int, int]:
    """A hand in a new process, killed mostly while it opens the store: its id, and where it speaks."""
    with tempfile.TemporaryFile("w+") as file:
        file.write("".join(json.dumps(batch) + "\n" for batch in plan))
        file.seek(0)
        out, end = os.pipe()
        words = [sys.executable, "-m", "validation._noter"]
        hand = subprocess.Popen(
            words, stdin=file, stdout=end, stderr=subprocess.DEVNULL, env=os.environ | environment
        )
        os.close(end)
    hand.returncode = 0  # it is waited for by its id
    return hand.pid, out


def forked(plan: list[Batch], environment: dict[str, str]) -> tuple[int, int]:
    """A hand with everything imported already, so that it is killed while it notes."""
    from validation import _noter

    out, end = os.pipe()
    hand = os.fork()
    if hand:
        os.close(end)
        return hand, out
    try:
        os.environ.update(environment)
        os.dup2(end, 1)
        with open(os.devnull, "w") as nowhere:  # noqa: PTH123
            os.dup2(nowhere.fileno(), 2)  # a server that crashes makes it complain
        _noter.main(plan)
    finally:
        os._exit(0)


def prepare(store: Store) -> None:
    """One female to note about; made by a process of its own."""
    code = (
        "from eggtooth.records import store; from eggtooth.engine.colony import Animal, Sex\n"
        "store.open_store(); store.save_animals([Animal('F1', Sex.FEMALE)])"
    )
    subprocess.run([sys.executable, "-c", code], check=True, env=os.environ | store.environment())


def killed(
    store: Store, kills: int, seed: int, crash: Callable[[], None] | None = None
) -> tuple[int, list[str]]:
    """Kill so many hands; returns the number of things kept, and every fault."""
    load_everything(store)
    trial, faults = Trial(store, random.Random(seed)), list[str]()
    for kill in range(kills):
        trial.round(crash if kill % SERVER_EVERY == SERVER_EVERY - 1 else None)
        faults += [f"after kill {kill + 1}: {fault}" for fault in trial.faults()]
        if faults:
            break
    if len(trial.kept) < kills:
        faults.append(f"only {len(trial.kept)} batches were kept in {kills} lives: this tries too little")
    return len(trial.kept), faults


def load_everything(store: Store) -> None:
    """Import what a hand needs, so that a fork has it; opens no connection."""
    import django

    os.environ.update(store.environment() | {"DJANGO_SETTINGS_MODULE": "eggtooth.records.settings"})
    django.setup()
    from eggtooth.records import keeping, loading, upkeep  # noqa: F401


def made_under_fire(folder: Path, seed: int, kills: int) -> list[str]:
    """Hands killed while the store is being made: the next one makes it."""
    chance, faults = random.Random(seed), list[str]()
    for kill in range(kills):
        store = InFile(folder / f"new{kill}")
        store.folder.mkdir()
        for _ in range(3):
            hand = subprocess.Popen(
                [sys.executable, "-m", "validation._noter"],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                env=os.environ | store.environment(),
            )
            time.sleep(0.2 + chance.random() * 1.2)
            hand.kill()
            hand.wait()
        prepare(store)
        faults += [f"new store {kill}: not sound"] if not store.sound() else []
    return faults


def main(kills: int = KILLS, seed: int = 1) -> bool:
    """Holds when nothing is lost, doubled or halved, over SQLite and over PostgreSQL."""
    faults = over_sqlite(kills, seed)
    try:
        faults += over_postgresql(kills, seed)
    except NoServer as none:
        faults.append(str(none))
    print("\n".join(faults[:20]))
    return not faults


def over_sqlite(kills: int, seed: int) -> list[str]:
    """On a file, the first of them while it is made."""
    with tempfile.TemporaryDirectory() as folder:
        faults = made_under_fire(Path(folder), seed, max(1, kills // 50))
        store = InFile(Path(folder))
        prepare(store)
        kept, found = killed(store, kills, seed)
    print(f"SQLite: {kills} kills, {kept:,} batches kept, {len(found)} faults", flush=True)
    return faults + found


def over_postgresql(kills: int, seed: int) -> list[str]:
    """The same on a server that syncs to the disk, itself crashed every tenth time."""
    with server() as started, tempfile.TemporaryDirectory() as folder:
        started.make("kills")
        store = OnServer(Path(folder), started)
        prepare(store)

        def crash() -> None:
            started.stop("immediate")
            started.start()

        kept, faults = killed(store, kills, seed, crash)
        crashed = f"{kills // SERVER_EVERY} of them with a crash of the server"
        print(f"PostgreSQL: {kills} kills, {crashed}, {kept:,} batches kept, {len(faults)} faults")
    return faults


if __name__ == "__main__":
    sys.exit(not main(*map(int, sys.argv[1:])))
