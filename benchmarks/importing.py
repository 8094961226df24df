"""A million entries into an empty store by `import`, against the driver's own executemany of the same rows.

The rival gets the rows ready made, in one transaction, into a table with the same columns, constraints and
indexes, set as the store's own connection is; it neither reads a file nor checks a line.
"""

from __future__ import annotations

import random
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

from eggtooth.jobs.bring_in import bring_in
from eggtooth.jobs.gather import NOTATION
from eggtooth.records import store
from eggtooth.records.files.reading import Paths

ENTRIES, ANIMALS = 1_000_000, 1000
FIRST, LAST = date(2016, 1, 1), date(2026, 2, 1)
LEAST = 1 / 3
COLUMNS = "key, on_day, at, animal_id, place, kind, value, detail, other_id, noted_by, noted_at, note"


def write_files(folder: Path, entries: int) -> Paths:
    """Ten years of a large house: half meals, a third weights, the rest sheds, scans and pairings."""
    chance = random.Random(1)
    tags = [f"F-{i:03}" if i % 3 else f"M-{i:03}" for i in range(ANIMALS)]
    males, females = [t for t in tags if t[0] == "M"], [t for t in tags if t[0] == "F"]
    animals, log = folder / "animals.csv", folder / "log.csv"
    heads = ("tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note\n", "date,tag,kind,value,detail\n")
    animals.write_text(heads[0] + "".join(f"{tag},,{tag[0]},2015-06-01,,,,,,,\n" for tag in tags))
    days = [(FIRST + timedelta(days=i)).isoformat() for i in range((LAST - FIRST).days)]
    with log.open("w") as out:
        out.write(heads[1])
        for _ in range(entries):
            day, tag, what = chance.choice(days), chance.choice(tags), chance.random()
            if what < 0.5:
                out.write(f"{day},{tag},meal,{chance.randint(0, 2)},medium rat\n")
            elif what < 0.83:
                out.write(f"{day},{tag},weight,{chance.randint(300, 3500)},\n")
            elif what < 0.9:
                out.write(f"{day},{tag},shed,,\n")
            elif what < 0.93:
                out.write(f"{day},{chance.choice(females)},scan,{chance.randint(5, 45)},\n")
            else:
                out.write(f"{day},{chance.choice(males)},lock,,{chance.choice(females)}\n")
    return Paths(animals, log)


def imported(folder: Path, paths: Paths) -> float:
    """Seconds from the files to the store."""
    store.open_store(folder / "room.sqlite3")
    start = time.perf_counter()
    bring_in(paths, LAST, notation=NOTATION)
    return time.perf_counter() - start


def bare(folder: Path) -> tuple[int, float]:
    """The same rows by `executemany` alone: how many, and seconds."""
    with closing(sqlite3.connect(folder / "room.sqlite3")) as ours:
        rows = ours.execute(f"SELECT {COLUMNS} FROM records_entry ORDER BY seq").fetchall()
        tables = ours.execute(
            "SELECT sql FROM sqlite_master WHERE sql IS NOT NULL AND type IN ('table', 'index') "
            "AND name NOT LIKE 'sqlite%' ORDER BY type DESC"
        ).fetchall()
        animals = ours.execute("SELECT * FROM records_animal").fetchall()
    with closing(sqlite3.connect(folder / "bare.sqlite3", isolation_level=None)) as plain:
        plain.execute("PRAGMA journal_mode=WAL")
        plain.executescript("PRAGMA synchronous=FULL; PRAGMA cache_size=-65536; PRAGMA foreign_keys=ON;")
        for (statement,) in tables:
            plain.execute(statement)
        plain.executemany(f"INSERT INTO records_animal VALUES ({', '.join('?' * len(animals[0]))})", animals)
        insert = f"INSERT INTO records_entry ({COLUMNS}) VALUES ({', '.join('?' * len(rows[0]))})"
        start = time.perf_counter()
        plain.execute("BEGIN IMMEDIATE")
        plain.executemany(insert, rows)
        plain.execute("COMMIT")
        return len(rows), time.perf_counter() - start


def main(entries: int = ENTRIES) -> bool:
    """Print both and their ratio; true (missed) when the import has less than a third of the speed."""
    with tempfile.TemporaryDirectory() as folder:
        paths = write_files(Path(folder), entries)
        ours = imported(Path(folder), paths)
        count, theirs = bare(Path(folder))
    print(f"{'import':20} {ours:6.1f} s   {count / ours:9,.0f} entries a second")
    print(f"{'executemany alone':20} {theirs:6.1f} s   {count / theirs:9,.0f} entries a second")
    print(f"import has {theirs / ours:.2f} of the speed (at least {LEAST:.2f} wanted)")
    return theirs / ours < LEAST


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
