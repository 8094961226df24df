"""`eggtooth backup`: a checked copy of the store."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from eggtooth.jobs.backing_up import FAULTS, Seen, back_up, seen


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument(
        "folder", type=Path, nargs="?", help="where to (EGGTOOTH_BACKUPS, else `backups` beside the store)"
    )
    parser.add_argument("--list", action="store_true", help="check and list the copies instead")
    parser.add_argument("--json", action="store_true", help="answer with one json document")


def run(asked: argparse.Namespace) -> int:
    """Copy; exit 1 when no sound copy could be made, or one of those listed is not sound."""
    if asked.list:
        return _listed(seen(asked.folder), asked.json)
    try:
        made, counts = back_up(asked.folder)
    except FAULTS as fault:
        print(f"eggtooth: no copy was made: {fault}", file=sys.stderr)
        return 1
    if asked.json:
        print(json.dumps({"file": str(made.file), **counts._asdict()}))
    else:
        print(f"{made.file}: {counts}; checked.")
    return 0


def _listed(found: list[Seen], as_json: bool) -> int:
    if as_json:
        print(json.dumps({"copies": [_as_json(s) for s in found]}))
    for s in () if as_json else found:
        print(f"{s.backup.file}: {s.counts}" if s.counts else s.fault)
    if not found and not as_json:
        print("There are no copies here.")
    return int(any(s.fault for s in found))


def _as_json(copy: Seen) -> dict[str, object]:
    counts = copy.counts._asdict() if copy.counts else {}
    made = copy.backup.when.isoformat()
    return {"file": str(copy.backup.file), "made": made, "fault": copy.fault or None, **counts}
