"""`eggtooth export`: the whole store as plain files."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from eggtooth.cli.sources import open_or_leave
from eggtooth.jobs.take_out import Occupied, Unsound, take_out, take_out_damaged


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument("folder", type=Path, help="a new or empty folder")
    parser.add_argument(
        "--damaged", action="store_true", help="write what can still be read of a damaged store"
    )
    parser.add_argument("--json", action="store_true", help="answer with one json document")


def run(asked: argparse.Namespace) -> int:
    """Export; never writes over anything. What a damaged store no longer says is told on stderr."""
    lost: list[str] = []
    try:
        if asked.damaged:
            files, lost = take_out_damaged(asked.folder)
        else:
            open_or_leave()
            files = take_out(asked.folder)
    except (Occupied, Unsound, OSError) as fault:
        print(f"eggtooth: {fault}", file=sys.stderr)
        return 1
    for line in lost:
        print(line, file=sys.stderr)
    if asked.json:
        print(json.dumps({"files": [str(f) for f in files]}))
    else:
        print("\n".join(map(str, files)))
    return 0
