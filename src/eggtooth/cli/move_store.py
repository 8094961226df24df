"""`eggtooth move-store TO`: the whole store into another database."""

from __future__ import annotations

import argparse
import json
import sys

from eggtooth.cli.sources import open_or_leave
from eggtooth.jobs.moving import CannotMove, move


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument("to", help="a new file, or an empty database like postgresql://user@host/name")
    parser.add_argument("--json", action="store_true", help="answer with one json document")


def run(asked: argparse.Namespace) -> int:
    """Move; exit 1, with nothing kept there, when it cannot be done. The former store stays as it is."""
    open_or_leave()
    try:
        moved = move(asked.to)
    except CannotMove as fault:
        print(f"eggtooth: nothing was moved: {fault}", file=sys.stderr)
        return 1
    if asked.json:
        print(json.dumps({"tables": [m._asdict() for m in moved]}))
        return 0
    for table, rows, digest in moved:
        print(f"{table.removeprefix('records_'):12} {rows:9,} rows, the same on both sides ({digest[:16]})")
    name = "EGGTOOTH_DATABASE" if "://" in asked.to else "EGGTOOTH_STORE"
    print(f"The former store is as it was. To use the new one, set {name} to it.")
    return 0
