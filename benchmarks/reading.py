"""Reading 1,000 animals and 300,000 entries, from csv and from the store, against Python's csv module."""

from __future__ import annotations

import csv
import gc
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

from benchmarks.rounds import ON, write_colony
from eggtooth.records.files.keys import with_keys
from eggtooth.records.files.reading import Paths, read_files

RUNS = 5


def main() -> None:
    """Print processor seconds (median of alternating runs) and their ratio to `csv.reader` alone."""
    from eggtooth.records import store

    with tempfile.TemporaryDirectory() as folder:
        animals, log = write_colony(Path(folder))
        store.open_store(Path(folder) / "room.sqlite3")
        found = read_files(Paths(animals, log), ON)
        entries = list(with_keys(found.entries))
        start = time.process_time()
        with store.all_or_nothing():
            store.save_animals(found.animals.values())
            store.add_entries(entries)
        kept = time.process_time() - start
        gc.disable()
        parts = [
            ("csv.reader alone", lambda: plain(animals, log)),
            ("reading the files", lambda: read_files(Paths(animals, log), ON)),
            ("files to colony", lambda: read_files(Paths(animals, log), ON).colony()),
            ("entries from the store", store.entries),
            ("store to colony", store.colony),
        ]
        times = [[seconds(act) for _, act in parts] for _ in range(RUNS)]
    base = median(t[0] for t in times)
    for i, (name, _) in enumerate(parts):
        mid = median(t[i] for t in times)
        print(f"{name:24} {mid:5.2f} s   {mid / base:4.1f} x csv.reader")
    print(f"{'files into the store':24} {kept:5.2f} s   {len(entries) / kept:,.0f} entries a second")


def plain(*paths: Path) -> None:
    """Go through the files with the csv module and keep nothing."""
    for path in paths:
        with path.open(newline="", encoding="utf-8") as file:
            for _ in csv.reader(file):
                pass


def seconds(act: Callable[[], object]) -> float:
    """Processor time of one call: the machine may be busy with other things."""
    start = time.process_time()
    act()
    return time.process_time() - start


if __name__ == "__main__":
    main()
