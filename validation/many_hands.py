"""Thirty hands noting at once through the pages: nothing lost, nothing doubled, and how long each waited.

The pages are served as in use, by a process of its own. Each hand sends one weight after another by http,
without pausing, one in ten of them twice under the same id, as after a lost answer. In the end the tables are
asked from outside. Beside the waiting times stand those of the bare database: as many threads, each with a
connection of the driver's own and a commit for each row, in the same table, in the same run.
"""

from __future__ import annotations

import http.client
import os
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlencode
from uuid import UUID, uuid4

from validation._postgres import NoServer, server
from validation.kills import InFile, OnServer, Store, prepare

HANDS, SECONDS = 30, 120
TWICE = 0.1
TOKEN = "t" * 32  # the page and its cookie agree on it; any will do
BARE = (
    "INSERT INTO records_entry (key, on_day, at, animal_id, place, kind, value, detail, noted_by, noted_at, "
    "note) VALUES ({0}, '2026-01-13', '', 1, '', 'weight', 1500, '', 'hand', '2026-01-13 20:00:00+00:00', '')"
)
Times = list[float]


@contextmanager
def pages(store: Store) -> Iterator[int]:
    """The pages served on a free port."""
    words = [sys.executable, "-m", "eggtooth", "serve", "--port", "0"]
    environment = os.environ | store.environment()
    quiet = subprocess.DEVNULL
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=quiet, text=True, env=environment) as served:
        assert served.stdout is not None
        try:
            yield int(served.stdout.readline().split(":")[2].split("/")[0])
        finally:
            served.terminate()


def hand(port: int, until: float, seed: int) -> tuple[list[str], Times, list[str]]:
    """One hand: the ids it was told are kept, how long each took in seconds, and every other answer."""
    chance, kept, times, refused = random.Random(seed), list[str](), Times(), list[str]()
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    while time.monotonic() < until:
        key = uuid4().hex
        for _ in range(2 if chance.random() < TWICE else 1):
            start = time.perf_counter()
            status, text = note(line, key, chance.randint(300, 3000))
            times.append(time.perf_counter() - start)
            (kept if status == 200 else refused).append(key if status == 200 else f"{status} {text[:200]}")
    line.close()
    return kept, times, refused


def note(line: http.client.HTTPConnection, key: str, grams: int) -> tuple[int, str]:
    """Send one weight as the round's script does."""
    said = {"tap": f"{key}|grams|F1|", "number": grams, "on": "2026-01-13", "csrfmiddlewaretoken": TOKEN}
    headers = {
        "Accept": "application/json",
        "Content-Type": "application/x-www-form-urlencoded",
        "Cookie": f"csrftoken={TOKEN}",
    }
    for left in reversed(range(5)):
        try:
            line.request("POST", "/note", urlencode(said), headers)
            answer = line.getresponse()
            return answer.status, answer.read().decode()
        except (http.client.HTTPException, OSError) as lost:  # sent again under the same id, as the page does
            line.close()
            if not left:
                return 0, repr(lost)
    raise AssertionError("unreachable")


def noted(store: Store, hands: int, seconds: float) -> tuple[Times, list[str]]:
    """All hands at once; how long each answer took, and every fault."""
    with pages(store) as port, ThreadPoolExecutor(hands) as pool:
        until = time.monotonic() + seconds
        told = list(pool.map(lambda seed: hand(port, until, seed), range(hands)))
    kept = {key for keys, _, _ in told for key in keys}
    there = Counter(UUID(str(key)).hex for (key,) in store.rows("SELECT key FROM records_entry"))
    faults = [f"{key} was kept and is gone" for key in kept if key not in there]
    faults += [f"{key} is there {n} times" for key, n in there.items() if n > 1 or key not in kept]
    faults += [f"answered {text}" for _, _, refused in told for text in refused]
    faults += [] if store.sound() else ["the database is not sound"]
    return [t for _, times, _ in told for t in times], faults + ([] if kept else ["nothing was noted"])


def bare(insert: Callable[[], Callable[[str], None]], hands: int, seconds: float) -> Times:
    """As many threads adding rows by the driver alone; `insert` makes one thread's way to add a row."""

    def add(_: int) -> Times:
        put, times = insert(), Times()
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            start = time.perf_counter()
            put(uuid4().hex)
            times.append(time.perf_counter() - start)
        return times

    with ThreadPoolExecutor(hands) as pool:
        return [t for times in pool.map(add, range(hands)) for t in times]


def bare_sqlite(file: Path) -> Callable[[str], None]:
    """A plain connection, set as the store sets its own."""
    plain = sqlite3.connect(file, timeout=60, isolation_level=None, check_same_thread=False)
    plain.execute("PRAGMA synchronous=FULL")

    def put(key: str) -> None:
        plain.execute("BEGIN IMMEDIATE")
        plain.execute(BARE.format("?"), [key])
        plain.execute("COMMIT")

    return put


def bare_postgresql(address: str) -> Callable[[str], None]:
    """A plain connection that commits each row."""
    import psycopg

    plain = psycopg.connect(address, autocommit=True)
    return lambda key: (plain.execute(BARE.format("%s"), [key]), None)[1]  # type: ignore[arg-type]


def centile(times: Times, share: float) -> float:
    """In milliseconds."""
    return 1000 * sorted(times)[min(len(times) - 1, int(share * len(times)))]


def tell(name: str, ours: Times, theirs: Times, hands: int, seconds: float, faults: int) -> None:
    """One line of figures for each side."""
    print(f"{name}: {hands} hands, {seconds:g} s, {len(ours):,} answers, {faults} faults")
    for whose, times, lasted in (
        ("through the pages", ours, seconds),
        ("bare database", theirs, seconds / 4),
    ):
        rate, p50, p99 = len(times) / lasted, centile(times, 0.5), centile(times, 0.99)
        print(f"  {whose:18} {rate:7,.0f} a second   p50 {p50:6.0f} ms   p99 {p99:6.0f} ms", flush=True)


def over_sqlite(hands: int, seconds: float) -> list[str]:
    """On a file."""
    with tempfile.TemporaryDirectory() as folder:
        store = InFile(Path(folder))
        prepare(store)
        ours, faults = noted(store, hands, seconds)
        theirs = bare(lambda: bare_sqlite(store.file), hands, seconds / 4)
        tell("SQLite", ours, theirs, hands, seconds, len(faults))
    return faults


def over_postgresql(hands: int, seconds: float) -> list[str]:
    """On a server that syncs to the disk. Raises `NoServer`."""
    with server() as started, tempfile.TemporaryDirectory() as folder:
        address = started.make("kills")
        store = OnServer(Path(folder), started)
        prepare(store)
        ours, faults = noted(store, hands, seconds)
        theirs = bare(lambda: bare_postgresql(address), hands, seconds / 4)
        tell("PostgreSQL", ours, theirs, hands, seconds, len(faults))
    return faults


def main(hands: int = HANDS, seconds: float = SECONDS) -> bool:
    """Holds when nothing is lost, doubled or refused, over SQLite and over PostgreSQL."""
    faults = over_sqlite(hands, seconds)
    try:
        faults += over_postgresql(hands, seconds)
    except NoServer as none:
        faults.append(str(none))
    print("\n".join(faults[:20]))
    return not faults


if __name__ == "__main__":
    sys.exit(not main(*map(int, sys.argv[1:])))
