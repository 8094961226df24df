"""A short slice of the kills, and that a loss would be seen."""

from __future__ import annotations

import random
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from validation.kills import InFile, Trial, prepare

ROOT = Path(__file__).parents[1]


@pytest.mark.slow
def test_a_hand_killed_ten_times_loses_and_doubles_nothing() -> None:
    """In a process of its own, which has no threads when it forks."""
    code = "from validation.kills import over_sqlite; print(over_sqlite(10, 3))"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0 and done.stdout.splitlines()[-1] == "[]", done.stdout + done.stderr


def test_what_is_lost_doubled_or_halved_is_seen(tmp_path: Path) -> None:
    store = InFile(tmp_path)
    prepare(store)
    trial = Trial(store, random.Random(1))
    assert trial.faults() == []
    batch = next(b for b in (trial.batch() for _ in range(50)) if len(b["entries"]) > 1)
    trial.kept.add(batch["id"])
    assert sum("was kept and is gone" in fault for fault in trial.faults()) == len(batch["entries"])
    trial.kept.clear()
    trial.open.append(batch["id"])
    assert trial.faults() == []
    for key, _ in batch["entries"][:-1]:
        keep(store, key)
    assert trial.faults() == [f"batch {batch['id']} is there by half: {len(batch['entries']) - 1}"]
    trial.open.clear()
    assert trial.faults() and all("was never sent" in fault for fault in trial.faults())


def keep(store: InFile, key: str) -> None:
    """Put an entry into the tables, past everything of ours."""
    with sqlite3.connect(store.file) as plain:
        plain.execute(
            "INSERT INTO records_entry (key, on_day, at, animal_id, place, kind, value, detail, noted_by, "
            "note) VALUES (?, '2026-01-13', '', 1, '', 'weight', 9, '', '', '')",
            [key],
        )
    plain.close()
