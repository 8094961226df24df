"""`eggtooth review`: the season that was, forecasts against what happened."""

from __future__ import annotations

import argparse
import json

from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.review import Review, Tally
from eggtooth.jobs.review import as_json, look_back


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    add_source_options(parser)
    parser.add_argument(
        "--this-season", action="store_true", help="the season so far instead of the last one"
    )


def run(asked: argparse.Namespace) -> int:
    """Print how the forecasts did."""
    found = look_back(source_of(asked), day_of(asked), asked.this_season)
    if asked.json:
        print(json.dumps(as_json(found), ensure_ascii=False))
    else:
        show(found)
    return 0


def show(found: Review) -> None:
    """A table for people by milestone and weeks ahead, in groups of four weeks."""
    from rich.console import Console
    from rich.table import Table

    console = Console()
    console.print(f"Season {found.start:%-d %b %Y} to {found.end:%-d %b %Y}, forecasts as they stood then.")
    if not found.tallies:
        console.print("Nothing was seen that a forecast could be held against.")
        return
    table = Table(box=None, padding=(0, 1), header_style="dim")
    for column in ("what", "weeks ahead", "told", "in 50 %", "in 90 %", "error", "came"):
        table.add_column(column, justify="right" if column != "what" else "left", no_wrap=True)
    groups: dict[tuple[str, int], list[Tally]] = {}
    for tally in found.tallies:
        groups.setdefault((tally.what.value, tally.weeks_ahead // 4), []).append(tally)
    for (what, four), tallies in groups.items():
        table.add_row(what, f"{4 * four} to {4 * four + 3}", *_sums(tallies))
    for what in dict.fromkeys(t.what for t in found.tallies):
        table.add_row(what.value, "all", *_sums([t for t in found.tallies if t.what is what]))
    console.print(table)


def _sums(tallies: list[Tally]) -> tuple[str, ...]:
    """Cells of a group of tallies."""
    n = sum(t.n for t in tallies)
    error = sum(t.error_days * t.n for t in tallies) / n
    shift = sum(t.shift_days * t.n for t in tallies) / n
    said = f"{abs(shift):.0f} d {'later' if shift > 0 else 'sooner'}" if abs(shift) >= 0.5 else "on time"
    return (
        str(n),
        f"{sum(t.in_50 for t in tallies) / n:.0%}",
        f"{sum(t.in_90 for t in tallies) / n:.0%}",
        f"{error:.0f} d",
        said,
    )
