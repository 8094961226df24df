"""`eggtooth forecast`: each female's season: where she is, whether she lays, and when."""

from __future__ import annotations

import argparse
import json
from datetime import date

from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.jobs.forecast import Female, female_json, forecast_on

SHOWN = (("ovulation", "ovulation"), ("prelay_shed", "pre-lay shed"), ("laid", "eggs"), ("pip", "pips"))


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    add_source_options(parser)


def run(asked: argparse.Namespace) -> int:
    """Print the forecast."""
    on = day_of(asked)
    females = forecast_on(source_of(asked), on)
    if asked.json:
        print(json.dumps({"on": on.isoformat(), "females": [female_json(f) for f in females]}))
    else:
        show(on, females)
    return 0


def show(on: date, females: list[Female]) -> None:
    """A table for people, those nearest to their eggs first."""
    from rich.console import Console
    from rich.table import Table

    console = Console()
    table = Table(box=None, padding=(0, 1), header_style="dim")
    table.add_column("female", no_wrap=True)
    table.add_column("most likely now")
    table.add_column("lays", justify="right")
    for _, name in SHOWN:
        table.add_column(name)
    table.add_column("scan next", no_wrap=True)
    for female in sorted(females, key=lambda f: (f.outlook.dates["laid"].q50, f.tag)):
        table.add_row(*_row(female))
    console.print(f"[bold]Seasons on {on:%A %-d %B %Y}[/]; dates are if she lays, with the 90 % span.")
    console.print("Each is told by her own entries and by how the others of the house run this season.")
    console.print(table if females else "No female of breeding size is in the room.")


def _row(female: Female) -> list[str]:
    told = female.outlook
    stage = max(told.stages, key=lambda s: told.stages[s])
    dates = [str(told.dates[key]).removeprefix("about ") for key, _ in SHOWN]
    scan = f"{female.next_scan.on:%-d %b}" if female.next_scan else "–"
    return [female.tag, f"{stage} ({told.stages[stage]:.0%})", f"{told.p_lays:.0%}", *dates, scan]
