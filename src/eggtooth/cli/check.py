"""`eggtooth check`: what cannot be, and what is odd, in the records."""

from __future__ import annotations

import argparse
import json

from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.doubts import Doubt, Grade
from eggtooth.jobs.day import entry_json
from eggtooth.jobs.looking import everything_odd


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    add_source_options(parser)


def run(asked: argparse.Namespace) -> int:
    """Print contradictions and doubts; exit 1 when there is a contradiction."""
    on = day_of(asked)
    found = everything_odd(source_of(asked).colony, on)
    if asked.json:
        said = {g: [_as_json(d) for d in found if d.grade is g] for g in Grade}
        print(json.dumps({"contradictions": said[Grade.CONTRADICTION], "doubts": said[Grade.DOUBT]}))
    else:
        show(found)
    return 1 if any(d.grade is Grade.CONTRADICTION for d in found) else 0


def _as_json(doubt: Doubt) -> dict[str, object]:
    entries = [entry_json(e) for e in doubt.entries]
    said: dict[str, object] = {"tag": doubt.tag, "text": doubt.text, "entries": entries}
    if doubt.records:
        said["records"] = [{"tag": tag, "text": words} for tag, words in doubt.records]
    return said


def show(found: list[Doubt]) -> None:
    """Both lists for people."""
    from rich.console import Console
    from rich.table import Table

    console = Console()
    if not found:
        console.print("Nothing odd found.")
        return
    table = Table(box=None, padding=(0, 1), header_style="dim")
    for name in ("grade", "animal", "what"):
        table.add_column(name, overflow="fold")
    for doubt in found:
        table.add_row(doubt.grade.value, doubt.tag, doubt.text)
    console.print(table)
