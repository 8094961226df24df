"""`eggtooth round`: the day's list, in walking order."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.rounds import Round, Urgency, round_for
from eggtooth.jobs.day import as_json

MARK = {Urgency.NOW: "bold red", Urgency.TODAY: "bold", Urgency.SOON: "dim"}


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument(
        "--plan", type=Path, metavar="plan.json", help="the season's pairs, from `eggtooth pairings --json`"
    )
    add_source_options(parser)


def run(asked: argparse.Namespace) -> int:
    """Print the round."""
    source = source_of(asked)
    if asked.plan:
        from eggtooth.jobs.rotation import PlanFault, with_plan

        try:
            source = with_plan(source, asked.plan)
        except PlanFault as fault:
            print(fault, file=sys.stderr)
            return 1
    found = round_for(source.colony, day_of(asked), source.settings)
    if asked.json:
        print(json.dumps(as_json(found), ensure_ascii=False))
    else:
        show(found)
    return 0


def show(found: Round) -> None:
    """The round as a table for people."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    console = Console()
    table = Table(box=None, padding=(0, 1), show_header=True, header_style="dim")
    for name, width in (("tub", 7), ("do", 14), ("who", 7), ("with", 7)):
        table.add_column(name, min_width=width, no_wrap=True)
    table.add_column("why", overflow="fold")
    for task in found.tasks:
        tub = str(task.tub) if task.tub else "room" if not task.tag else "–"
        style = MARK[task.urgency]
        table.add_row(tub, Text(task.todo.value, style), task.tag, task.partner, task.why)
    console.print(f"[bold]Round of {found.on:%A %-d %B %Y}[/], {len(found.tasks)} lines")
    console.print(table if found.tasks else "Nothing to do here. Good night.")
