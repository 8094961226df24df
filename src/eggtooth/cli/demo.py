"""`eggtooth demo`: an invented colony in mid-season, its round, and its pages; leaves no trace."""

from __future__ import annotations

import argparse
import tempfile
from datetime import date
from pathlib import Path

from eggtooth.cli.round import show
from eggtooth.cli.serve import PORT, listening, serve, stop_when_told
from eggtooth.engine.rounds import round_for

SEED = 1


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument(
        "--on", type=date.fromisoformat, help="the day to show (default: the last 4 February)"
    )
    parser.add_argument("--seed", type=int, default=SEED, help="another invented colony")
    parser.add_argument("--port", type=int, default=PORT, help="port of the pages")
    parser.add_argument("--quiet", action="store_true", help="do not print the round")
    parser.add_argument("--no-serve", action="store_true", help="only print the round")
    parser.add_argument(
        "--write", type=Path, metavar="FOLDER", help="write the colony as csv files, then stop"
    )


def run(asked: argparse.Namespace) -> int:
    """Make the colony, print its round and serve its pages from a store that is thrown away."""
    from eggtooth.jobs.invent import invent, keep, write

    on = asked.on or mid_season(date.today())
    colony = invent(asked.seed, on)
    if asked.write:
        write(colony, asked.write)
        print(f"The invented colony is in {asked.write}")
        return 0
    if not asked.quiet:
        show(round_for(colony, on))
    if asked.no_serve:
        return 0
    stop_when_told()
    with tempfile.TemporaryDirectory(prefix="eggtooth-demo-") as folder:
        store = Path(folder) / "demo.sqlite3"
        keep(colony, store)
        return serve(store, _port(asked.port), on, keep_copies=False)


def mid_season(today: date) -> date:
    """The latest day of early February that is a pairing night and not after today."""
    year = today.year if today >= date(today.year, 2, 11) else today.year - 1
    return next(d for d in (date(year, 2, n) for n in range(4, 11)) if d.weekday() == 2)


def _port(port: int) -> int:
    try:
        return listening(port)
    except OSError:
        return 0
