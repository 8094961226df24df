"""`eggtooth eggs`: clutches, when they pip, and whether the incubators have places."""

from __future__ import annotations

import argparse
import json

from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.jobs.clutches import Eggs, as_json, eggs_of


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    add_source_options(parser)


def run(asked: argparse.Namespace) -> int:
    """Print clutches and places."""
    found = eggs_of(source_of(asked), day_of(asked))
    if asked.json:
        print(json.dumps(as_json(found), ensure_ascii=False))
    else:
        show(found)
    return 0


def show(found: Eggs) -> None:
    """Two tables for people: clutches, and places by month."""
    from rich.console import Console
    from rich.table import Table

    console = Console()
    table = Table(box=None, padding=(0, 1), header_style="dim")
    for column in ("dam", "laid", "eggs", "pips", "hatch"):
        table.add_column(column, no_wrap=True)
    table.add_column("why", overflow="fold")
    for c in found.clutches:
        hatch = f"{c.hatch.quantile(0.5)} ({c.hatch.quantile(0.05)} to {c.hatch.quantile(0.95)})"
        table.add_row(c.dam, f"{c.laid.on:%-d %b}", str(c.eggs), str(c.pip), hatch, c.why)
    console.print(table if found.clutches else "No clutch lies.")
    _places(found, console)


def _places(found: Eggs, console: object) -> None:
    from rich.console import Console

    assert isinstance(console, Console)
    worst = found.worst
    if worst is None:
        return
    most = max(found.days, key=lambda d: d.q50)
    wanted = f"{most.q50} ({most.q05} to {most.q95})"
    console.print(f"{found.places} places; most are wanted about {most.on:%-d %b}: {wanted}.")
    if worst.p_short >= 0.005:
        console.print(f"Chance of too few places on the worst day, {worst.on:%-d %b}: {worst.p_short:.0%}.")
    elif found.places:
        console.print("Running out is unlikely: under one in 200 on every day.")
