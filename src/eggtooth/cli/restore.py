"""`eggtooth restore FILE`: a copy back in the place of the store."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from eggtooth.cli.sources import open_or_leave
from eggtooth.jobs.backing_up import FAULTS, Restored, restore


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument("file", type=Path, help="a copy that `eggtooth backup` made")
    parser.add_argument("--json", action="store_true", help="answer with one json document")


def run(asked: argparse.Namespace) -> int:
    """Restore; exit 1, with the store as it was, when that cannot be done."""
    try:
        done = restore(asked.file)
    except FAULTS as fault:
        print(f"eggtooth: {fault}\nThe store is as it was.", file=sys.stderr)
        return 1
    open_or_leave()  # a copy of an earlier version is brought up to date
    if asked.json:
        print(json.dumps(_as_json(done)))
        return 0
    if done.damage:
        print(f"The store could not be read: {done.damage}")
    print(f"Before: {done.before or ('not known' if done.aside else 'no store')}")
    print(f"Now:    {done.after}")
    if done.aside:
        print(f"The store as it was is kept as {done.aside}")
    return 0


def _as_json(done: Restored) -> dict[str, object]:
    return {
        "before": done.before._asdict() if done.before else None,
        "now": done.after._asdict(),
        "aside": str(done.aside) if done.aside else None,
    }
