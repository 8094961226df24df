"""`eggtooth sires`: who fathered each clutch."""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping
from typing import Any

from eggtooth.cli.carriers import add_rate_options, percent, rates_of, share
from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.pedigree.sires import ClutchSires, PaternitySettings
from eggtooth.jobs.kin import who_sired


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    add_source_options(parser)
    add_rate_options(parser)
    parser.add_argument(
        "--two-sires",
        type=share,
        metavar="P",
        help="chance beforehand that a clutch has two sires (see the docs)",
    )


def run(asked: argparse.Namespace) -> int:
    """Print the odds on each clutch."""
    source = source_of(asked)
    settings = PaternitySettings(asked.per_egg, asked.two_sires)
    found = who_sired(source.colony, day_of(asked), rates_of(asked), settings)
    if asked.json:
        print(json.dumps({"clutches": [as_json(c) for c in found]}, ensure_ascii=False))
    else:
        show(found)
    return 0


def as_json(clutch: ClutchSires) -> dict[str, Any]:
    """One clutch; `p` of sires and `no_sire` sum to 1 where there are candidates."""
    return {
        "clutch": clutch.clutch,
        "dam": clutch.dam,
        "sires": _odds(clutch.sires),
        "no_sire": clutch.no_sire,
        "two_sires": clutch.two_sires,
        "eggs": [{"tag": tag, "sires": _odds(odds)} for tag, odds in clutch.eggs.items()],
    }


def _odds(odds: Mapping[str, float]) -> list[dict[str, Any]]:
    return [{"tag": t, "p": p} for t, p in sorted(odds.items(), key=lambda x: (-x[1], x[0]))]


def show(found: list[ClutchSires]) -> None:
    """A table for people: the clutches first whose sire is not certain."""
    from rich.console import Console
    from rich.table import Table

    console = Console()
    table = Table(box=None, padding=(0, 1), header_style="dim")
    for name in ("clutch", "dam", "eggs", "sire", "two sires", "no sire"):
        table.add_column(name, overflow="fold")
    unsure = [c for c in found if max(c.sires.values(), default=0) < 1]
    for c in unsure:
        odds = ", ".join(f"{o['tag']} {percent(o['p'])}" for o in _odds(c.sires)) or "not known"
        two = percent(c.two_sires) if c.two_sires else ""
        table.add_row(c.clutch, c.dam, str(len(c.eggs)), odds, two, percent(c.no_sire) if c.no_sire else "")
    if unsure:
        console.print(table)
    console.print(f"[dim]{len(found) - len(unsure)} clutches with one sire on record.[/]")
