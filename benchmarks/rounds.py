"""The round of 1,000 animals with 300,000 entries against Python's csv module reading the same files."""

from __future__ import annotations

import csv
import io
import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path
from statistics import median

import numpy as np

from eggtooth.engine.simulate.colony import simulate_colony
from eggtooth.records.files import writing

ON = date(2026, 2, 4)
ANIMALS, LINES, RUNS = 1000, 300_000, 5
READ_ONLY = """import csv, sys
for path in sys.argv[1:]:
    with open(path, newline="", encoding="utf-8") as file:
        for _ in csv.reader(file):
            pass
"""


def main() -> None:
    """Print both times (median of alternating runs) and their ratio."""
    with tempfile.TemporaryDirectory() as folder:
        animals, log = write_colony(Path(folder))
        plain = [sys.executable, "-c", READ_ONLY, str(animals), str(log)]
        asked = [sys.executable, "-m", "eggtooth", "round", "--animals", str(animals), "--log", str(log)]
        asked += ["--on", ON.isoformat(), "--json"]
        times = [(seconds(plain), seconds(asked)) for _ in range(RUNS)]
        lines = sum(1 for _ in log.open())
    csv_s, round_s = (median(t[i] for t in times) for i in (0, 1))
    print(f"round of {ANIMALS} animals, {lines - 1:,} entries: {round_s:.2f} s")
    print(f"csv.reader over the same files: {csv_s:.2f} s; ratio {round_s / csv_s:.1f} (wanted: below 10)")


def write_colony(folder: Path) -> tuple[Path, Path]:
    """An invented colony of this size as csv files."""
    colony = simulate_colony(np.random.default_rng(1), animals=ANIMALS, years=3, until=ON).colony
    mine = {e.id: e for seen in colony.entries.values() for e in seen}
    entries = sorted(mine.values(), key=lambda e: e.on)[-LINES:]
    animals, log = folder / "animals.csv", folder / "log.csv"
    animals.write_text(writing.animals_text(colony.animals.values()), "utf-8")
    rows = csv.reader(io.StringIO(writing.log_text(entries)))
    with log.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(row[:5] for row in rows)  # a keeper's own sheet, without our ids
    return animals, log


def seconds(command: list[str]) -> float:
    """Wall-clock of one whole process."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
