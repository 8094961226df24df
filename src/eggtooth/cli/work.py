"""`eggtooth work`: works out the long answers that the pages ask for, where the store is on PostgreSQL."""

from __future__ import annotations

import argparse
import sys

from eggtooth.cli.sources import open_or_leave
from eggtooth.records.place import database_address


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument("--once", action="store_true", help="work out what waits now, then end")


def run(asked: argparse.Namespace) -> int:
    """Work until Ctrl-C; exit 2 where there is no queue, because the store is a file."""
    if not database_address():
        print(
            "eggtooth: the store is a file, and the pages work everything out themselves; a worker is for a "
            "store on PostgreSQL (EGGTOOTH_DATABASE)",
            file=sys.stderr,
        )
        return 2
    open_or_leave()
    from eggtooth.jobs.gather import warn
    from eggtooth.jobs.long_work.worker import work

    warn(lambda line: print(line, file=sys.stderr, flush=True))
    print("Working out what the pages ask for (Ctrl-C stops).", flush=True)
    work(lambda line: print(line, flush=True), asked.once)
    print("Stopped.")
    return 0
