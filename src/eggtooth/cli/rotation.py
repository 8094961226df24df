"""`eggtooth rotation`: who sits where tonight and on the coming nights."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

from eggtooth.cli.sources import add_source_options, day_of, paths_of, source_of
from eggtooth.engine.planning.coming import ComingNight
from eggtooth.engine.planning.nights import Action, Move
from eggtooth.jobs.day import entry_json
from eggtooth.jobs.rotation import PlanFault, keep, rotation, with_plan
from eggtooth.records.files.reading import Paths

WEEK = 7


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument(
        "--nights", type=_nights, default=WEEK, metavar="N", help="how many nights, tonight included (7)"
    )
    parser.add_argument(
        "--plan", type=Path, metavar="plan.json", help="the season's pairs, from `eggtooth pairings --json`"
    )
    kept = parser.add_mutually_exclusive_group()
    kept.add_argument("--keep", action="store_true", help="go by this plan from now on, in the round too")
    kept.add_argument("--forget", action="store_true", help="go by no plan from now on")
    add_source_options(parser)


def _nights(text: str) -> int:
    if not text.isascii() or not text.isdecimal() or not 1 <= int(text) <= 28:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of nights from 1 to 28")
    return int(text)


def run(asked: argparse.Namespace) -> int:
    """Print the nights."""
    if wrong := _misused(asked):
        print(f"eggtooth: {wrong}", file=sys.stderr)
        return 2
    source = source_of(asked)
    try:
        if asked.plan:
            source = with_plan(source, asked.plan)
    except PlanFault as fault:
        print(fault, file=sys.stderr)
        return 1
    if asked.forget:
        source = replace(source, settings=replace(source.settings, season_plan="", season_plan_until=""))
    if asked.keep:
        until = source.settings.season_end(day_of(asked)).isoformat()
        source = replace(source, settings=replace(source.settings, season_plan_until=until))
    if asked.keep or asked.forget:
        keep(source.settings)
    found = rotation(source, day_of(asked), asked.nights)
    if asked.json:
        print(json.dumps(as_json(found), ensure_ascii=False))
    else:
        show(found)
    return 0


def _misused(asked: argparse.Namespace) -> str:
    if (asked.keep or asked.forget) and paths_of(asked) != Paths():
        return "--keep and --forget change the store, not plain files"
    return "--keep needs the plan to keep: --plan plan.json" if asked.keep and not asked.plan else ""


def as_json(nights: list[ComingNight]) -> dict[str, Any]:
    """The nights as one json document."""
    return {
        "nights": [
            {"date": n.on.isoformat(), "pairing": n.pairing, "moves": [move_json(m) for m in n.moves]}
            for n in nights
        ]
    }


def move_json(move: Move) -> dict[str, Any]:
    """One move."""
    return {
        "male": move.male,
        "female": move.female,
        "action": move.action.value,
        "why": move.why,
        "entries": [entry_json(e) for e in move.entries],
    }


def show(nights: list[ComingNight]) -> None:
    """The nights for people: tonight with every reason, later nights by the pair."""
    from rich.console import Console
    from rich.table import Table

    console = Console()
    for night in nights:
        table = Table(box=None, padding=(0, 1), show_header=False)
        for move in night.moves:
            if move.action is not Action.CHECK:
                table.add_row(move.action.value, move.male, move.female, move.why)
        rest = "" if night.pairing else ", males at home"
        console.print(f"[bold]{night.on:%A %-d %B %Y}[/]{rest}")
        console.print(table if table.row_count else "  nobody is moved")
    console.print(
        "Later nights are what is likeliest now; each is planned anew from what was seen.", style="dim"
    )
