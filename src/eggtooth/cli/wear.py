"""`eggtooth wear`: how the breeding males hold up, and by when each must rest."""

from __future__ import annotations

import argparse
import json
from datetime import date

from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.condition.wear import WearState
from eggtooth.jobs.wear import MaleWear, as_json, males_of

STYLE = {
    WearState.REST: "bold red",
    WearState.WATCH: "yellow",
    WearState.FIT: "green",
    WearState.RESTING: "dim",
}
ORDER = (WearState.REST, WearState.WATCH, WearState.FIT, WearState.RESTING)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    add_source_options(parser)


def run(asked: argparse.Namespace) -> int:
    """Print every male's condition."""
    on = day_of(asked)
    found = males_of(source_of(asked), on)
    if asked.json:
        print(json.dumps({"on": on.isoformat(), "males": [as_json(m) for m in found]}, ensure_ascii=False))
    else:
        show(found, on)
    return 0


def show(found: list[MaleWear], on: date) -> None:
    """A table for people: those that must rest first."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    console = Console()
    if not found:
        console.print("No males here.")
        return
    table = Table(box=None, padding=(0, 1), header_style="dim")
    for column in ("who", "state", "loss", "ate", "nights", "locks"):
        table.add_column(column, no_wrap=True)
    table.add_column("rest by", max_width=15)
    table.add_column("why", overflow="fold")
    for male in sorted(found, key=lambda m: ORDER.index(m.wear.state)):
        wear = male.wear
        loss = "–" if wear.loss is None else f"{wear.loss:.0f} %"
        ate = "–" if wear.days_since_meal is None else f"{wear.days_since_meal} d"
        state = Text(wear.state.value, STYLE[wear.state])
        table.add_row(male.tag, state, loss, ate, str(wear.nights_in), str(wear.locks), _by(male), wear.why)
    console.print(table)


def _by(male: MaleWear) -> str:
    """The middle date and the span; nothing for one that rests or does not breed."""
    by = male.wear.rest_by
    if by is None or male.wear.state is WearState.RESTING:
        return ""
    low, mid, high = by
    return f"{mid:%-d %b} ({low:%-d %b} to {high:%-d %b})"
