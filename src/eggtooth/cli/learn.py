"""`eggtooth learn`: this house's own rates from its finished seasons, beside those of the facts."""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

from eggtooth.cli.sources import add_source_options, day_of, paths_of, source_of
from eggtooth.engine.cycle.parameters import Parameter
from eggtooth.jobs.learn import Lesson, lesson_of, use
from eggtooth.records.files.reading import Paths


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    add_source_options(parser)
    choice = parser.add_mutually_exclusive_group()
    choice.add_argument("--keep", action="store_true", help="forecast by these rates from now on")
    choice.add_argument("--forget", action="store_true", help="forecast by the facts again")


def run(asked: argparse.Namespace) -> int:
    """Print what was learned; keep it, or give it up, when asked to."""
    if (asked.keep or asked.forget) and paths_of(asked) != Paths():
        print("eggtooth: --keep and --forget change the store, not plain files", file=sys.stderr)
        return 2
    source = source_of(asked)
    lesson = lesson_of(source, day_of(asked))
    if asked.keep or asked.forget:
        use(source.settings, lesson.rates if asked.keep else "")
    if asked.json:
        print(json.dumps({"parameters": [parameter_json(p) for p in lesson.parameters]}))
    else:
        show(lesson, asked, source.settings.learned_rates == lesson.rates)
    return 0


def parameter_json(told: Parameter) -> dict[str, Any]:
    """One figure with its intervals."""
    return {
        "name": told.name,
        "unit": told.unit,
        "prior": round(told.prior, 6),
        "now": round(told.now, 6),
        "n": told.n,
        "prior_90": [round(v, 6) for v in told.prior_90],
        "now_90": [round(v, 6) for v in told.now_90],
    }


def show(lesson: Lesson, asked: argparse.Namespace, in_use: bool) -> None:
    """A table for people."""
    from rich.console import Console
    from rich.table import Table

    console = Console()
    table = Table(box=None, padding=(0, 1), header_style="dim")
    table.add_column("figure")
    table.add_column("unit")
    for name in ("by the facts", "here", "90 % sure", "seasons"):
        table.add_column(name, justify="right")
    for told in lesson.parameters:
        spread = f"{told.now_90[0]:.3g} to {told.now_90[1]:.3g}"
        table.add_row(told.name, told.unit, f"{told.prior:.3g}", f"{told.now:.3g}", spread, str(told.n))
    console.print(table)
    console.print(_standing(in_use, asked))


def _standing(in_use: bool, asked: argparse.Namespace) -> str:
    if asked.keep or (in_use and not asked.forget):
        return "Forecasts use these rates; --forget goes back to the facts."
    return "Forecasts do not use these rates; --keep makes them."
