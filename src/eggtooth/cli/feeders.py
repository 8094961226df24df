"""`eggtooth feeders`: how many prey of each size the coming weeks need."""

from __future__ import annotations

import argparse
import json

from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.planning.feeders import Need
from eggtooth.jobs.feeders import as_json, order


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    add_source_options(parser)
    parser.add_argument(
        "--weeks", type=_weeks, default=6, metavar="N", help="weeks to look ahead, 1 to 52 (6)"
    )


def _weeks(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 52:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of weeks from 1 to 52")
    return int(text)


def run(asked: argparse.Namespace) -> int:
    """Print the order."""
    on = day_of(asked)
    found = order(source_of(asked), on, asked.weeks)
    if asked.json:
        print(json.dumps({"on": on.isoformat(), "needs": [as_json(n) for n in found]}, ensure_ascii=False))
    else:
        show(found)
    return 0


def show(found: list[Need]) -> None:
    """Sizes down, weeks across; each cell the middle number and what is enough in 95 of 100 cases."""
    from rich.console import Console
    from rich.table import Table

    console = Console()
    if not found:
        console.print("Nobody here to feed.")
        return
    weeks = sorted({n.week for n in found})
    table = Table(box=None, padding=(0, 1), header_style="dim")
    table.add_column("prey")
    for week in weeks:
        table.add_column(f"{week:%-d %b}", justify="right")
    by_place = {(n.prey, n.week): n for n in found}
    for prey in dict.fromkeys(n.prey for n in found):
        table.add_row(prey, *(_cell(by_place.get((prey, w))) for w in weeks))
    console.print(
        "Prey by week from the day named; in brackets the number that is enough in 95 of 100 cases."
    )
    console.print(table)


def _cell(need: Need | None) -> str:
    return f"{need.q50} ({need.q95})" if need else ""
