"""`eggtooth review`: the season that was, forecasts against what happened."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.review import Review, Tally
from eggtooth.engine.review.chances import odds_of, reliability
from eggtooth.engine.review.numbers import Number, score_of
from eggtooth.jobs.review import as_json, look_back

if TYPE_CHECKING:
    from rich.console import Console


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

    console = Console()
    console.print(f"Season {found.start:%-d %b %Y} to {found.end:%-d %b %Y}, forecasts as they stood then.")
    if not found.tallies and not found.scores and not found.chances:
        console.print("Nothing was seen that a forecast could be held against.")
        return
    _dates(found, console)
    _numbers(found, console)
    _chances(found, console)
    _males(found, console)


def _dates(found: Review, console: Console) -> None:
    from rich.table import Table

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
    if found.tallies:
        console.print(table)


def _numbers(found: Review, console: Console) -> None:
    """Masses and hatchlings, by quarters of a year ahead."""
    from rich.table import Table

    if not found.numbers:
        return
    table = Table(box=None, padding=(0, 1), header_style="dim")
    for column in ("what", "weeks ahead", "told", "animals", "in 50 %", "in 90 %", "error", "came"):
        table.add_column(column, justify="right" if column != "what" else "left", no_wrap=True)
    groups: dict[tuple[str, int], list[Number]] = {}
    for one in found.numbers:
        groups.setdefault((one.what, one.weeks_ahead // 13), []).append(one)
    for (what, quarter), told in sorted(groups.items()):
        s = score_of(what, 0, told)
        unit = f" {s.unit}" if s.unit == "%" else ""
        table.add_row(
            what,
            f"{13 * quarter} to {13 * quarter + 12}",
            str(s.n),
            str(s.animals),
            f"{s.in_50 / s.n:.0%}",
            f"{s.in_90 / s.n:.0%}",
            f"{s.error:.1f}{unit}",
            f"{s.shift:+.1f}{unit}",
        )
    console.print(table)


def _chances(found: Review, console: Console) -> None:
    """The chance of laying: said and came, by tenths."""
    from rich.table import Table

    if not found.chances:
        console.print("Whether the females lay is scored when the season is over.")
        return
    whole = odds_of(found.chances)
    console.print(
        f"Chance of laying, told {whole.n} times of {whole.animals} females: Brier score {whole.brier:.3f} "
        f"(0 is best; had all been told the share that laid, {whole.came:.0%}: {whole.plain:.3f})."
    )
    table = Table(box=None, padding=(0, 1), header_style="dim")
    for column in ("chance told", "told", "females", "said", "laid"):
        table.add_column(column, justify="right", no_wrap=True)
    for tenth, odds in reliability(found.chances).items():
        span = f"{10 * tenth} to {10 * tenth + 10} %"
        table.add_row(span, str(odds.n), str(odds.animals), f"{odds.said:.0%}", f"{odds.came:.0%}")
    console.print(table)


def _males(found: Review, console: Console) -> None:
    males = found.males
    if not any(getattr(males, name) for name in males.__slots__):
        return
    parts = [f"{len(males.rested)} rested for their own sake"]
    if males.past:
        parts.append(f"of them after the last date told: {', '.join(males.past)}")
    parts.append(f"{len(males.with_season)} until the season closed")
    if males.died:
        parts.append(f"died while breeding: {', '.join(males.died)}")
    console.print(f"Breeding males: {'; '.join(parts)}.")


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
