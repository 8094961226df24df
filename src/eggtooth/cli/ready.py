"""`eggtooth ready`: who is fit to breed, with what chance, and from when."""

from __future__ import annotations

import argparse
import json
from datetime import date

from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.condition.fitness import Ready
from eggtooth.jobs.readiness import as_json, who_is_ready


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    add_source_options(parser)


def run(asked: argparse.Namespace) -> int:
    """Print every male's and female's readiness."""
    on = day_of(asked)
    found = who_is_ready(source_of(asked), on)
    if asked.json:
        said = {"on": on.isoformat(), "animals": [as_json(r, on) for r in found]}
        print(json.dumps(said, ensure_ascii=False))
    else:
        show(found, on)
    return 0


def show(found: list[Ready], on: date) -> None:
    """A table for people: the likeliest first within each sex."""
    from rich.console import Console
    from rich.table import Table

    console = Console()
    if not found:
        console.print("No males or females here.")
        return
    for sex, name in (("M", "males"), ("F", "females")):
        table = Table(box=None, padding=(0, 1), header_style="dim", title=name, title_justify="left")
        for column in ("who", "mass", "fit now"):
            table.add_column(column, no_wrap=True)
        table.add_column("fit from", max_width=16)
        table.add_column("why", overflow="fold")
        for r in sorted((r for r in found if r.sex == sex), key=lambda r: -r.p_now):
            table.add_row(r.tag, f"{r.mass_g[1]:.0f} g", _chance(r.p_now), _from(r, on), r.why)
        if table.row_count:
            console.print(table)


def _chance(p: float) -> str:
    """Five steps, filled by the chance, and the number of 100."""
    full = round(5 * p)
    return "█" * full + "·" * (5 - full) + f" {100 * p:3.0f} %"


def _from(ready: Ready, on: date) -> str:
    """The middle date and the 90 % span."""
    low, mid, high = ready.dates
    if mid is not None and mid <= on and high is not None and high <= on:
        return "now"
    middle = "now" if mid and mid <= on else f"{mid:%-d %b %Y}" if mid else "not in five years"
    if low is None:
        return middle
    return f"{middle} ({'now' if low <= on else f'{low:%b %Y}'} to {f'{high:%b %Y}' if high else 'later'})"
