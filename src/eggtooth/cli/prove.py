"""`eggtooth prove`: what would settle whether an animal carries a gene."""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING, Any

from eggtooth.cli.carriers import add_rate_options, percent, rates_of
from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.colony import Sex
from eggtooth.engine.pedigree.laboratory import LabWorth
from eggtooth.engine.pedigree.worth import MOST_EGGS, TestCross
from eggtooth.engine.planning.proving import Proving
from eggtooth.jobs.kin import who_carries
from eggtooth.jobs.proving import EGGS, NotAsked, Open, how_to_prove, to_prove

if TYPE_CHECKING:
    from rich.console import Console

ACROSS = 12
MOST_LISTED = 40


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument("tag", nargs="?", metavar="TAG", help="the animal; without it, the open questions")
    parser.add_argument("--gene", action="append", default=[], help="only this gene (may be repeated)")
    parser.add_argument(
        "--eggs", type=_eggs, default=EGGS, metavar="N", help=f"good eggs in the clutch ({EGGS})"
    )
    parser.add_argument(
        "--seed", type=int, default=0, help="seed where families are too tangled to be exact (0)"
    )
    add_source_options(parser)
    add_rate_options(parser)


def _eggs(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= MOST_EGGS:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of eggs, 1 to {MOST_EGGS}")
    return int(text)


def run(asked: argparse.Namespace) -> int:
    """Print it; 1 when the animal or gene is not known here."""
    source, on = source_of(asked), day_of(asked)
    found = who_carries(source.colony, on, rates_of(asked), asked.per_egg, asked.seed)
    try:
        if not asked.tag:
            _open(to_prove(found, on, asked.gene), asked.json)
            return 0
        ways = how_to_prove(found, asked.tag, on, source.settings, asked.gene, asked.eggs)
    except NotAsked as wrong:
        print(wrong, file=sys.stderr)
        return 1
    if asked.json:
        told = {"on": on.isoformat(), "tag": asked.tag, "questions": [as_json(w) for w in ways]}
        print(json.dumps(told, ensure_ascii=False))
    else:
        show(asked.tag, found.evidence.colony.animals[asked.tag].sex is not Sex.UNKNOWN, ways)
    return 0


def _open(questions: list[Open], in_json: bool) -> None:
    """The animals worth proving out."""
    if in_json:
        print(json.dumps({"open": [q._asdict() for q in questions]}, ensure_ascii=False))
        return
    from rich.console import Console

    console = Console()
    table = _table("animal", "gene", "carries it with", "first")
    for q in questions[:MOST_LISTED]:
        table.add_row(q.tag, q.locus, percent(q.p), "look: its look is not noted" if q.look_first else "")
    console.print(table if questions else "No animal here is in doubt, between 5 and 95 %, over any gene.")
    if len(questions) > MOST_LISTED:
        console.print(f"[dim]and {len(questions) - MOST_LISTED} more, nearer to sure.[/]")


def as_json(way: Proving) -> dict[str, Any]:
    """One question; `after` values are null for outcomes that cannot be."""
    return {
        "locus": way.locus,
        "p": way.chance,
        "not_yet": way.yet,
        "look_first": way.look_first,
        "mates": [_cross_json(c) for c in way.crosses],
        "left_out": [{**_cross_json(b.cross), "why": b.why} for b in way.barred],
        "laboratory": _lab_json(way.laboratory),
    }


def _cross_json(cross: TestCross) -> dict[str, Any]:
    return {
        "tag": cross.mate,
        "eggs": cross.eggs,
        "settles": cross.settles,
        "each_shows_if_carried": cross.each,
        "p_some_show": cross.shows,
        "after_some_show": cross.after_some,
        "after_none_shows": cross.after_none,
        "after_normals": list(cross.falling),
        "normals_until_below_5_percent": cross.normals,
        "exact": cross.exact,
    }


def _lab_json(lab: LabWorth) -> dict[str, Any]:
    return {
        "misses": lab.errors.missed,
        "invents": lab.errors.invented,
        "settles": lab.settles,
        "p_found": lab.finds,
        "after_found": lab.after_found,
        "after_not_found": lab.after_not,
    }


def show(tag: str, sexed: bool, ways: list[Proving]) -> None:
    """The ways for people, a gene at a time; `sexed`: whether the animal's sex is noted."""
    from rich.console import Console

    console = Console()
    if not ways:
        console.print(f"Nothing about {tag} is open: what it carries is sure by the records.")
    if ways and not sexed:
        console.print(f"The sex of {tag} is not noted, so mates of both sexes are listed.", highlight=False)
    for way in ways:
        console.print(f"\n[bold]{tag} and {way.locus}[/]: carries it with {_or_never(way.chance)}.")
        if not 0 < way.chance < 1:
            console.print("That is settled already.")
            continue
        if way.look_first:
            console.print("Its look is not noted and may show it: look first, and note what it shows.")
        if way.yet:
            console.print(f"{tag} itself cannot be bred now: {way.yet}.", highlight=False)
        _crosses(console, way)
        console.print(f"[dim]Laboratory[/] {lab_said(way.laboratory)}", highlight=False)


def _crosses(console: Console, way: Proving) -> None:
    if way.crosses:
        console.print(_mates(way.crosses))
        _falling(console, way.crosses[0])
    else:
        console.print("No mate here that may be used would show it: look for a visual or a het, or test.")
    for barred in way.barred:
        console.print(
            f"[dim]not {barred.cross.mate} (would settle {barred.cross.settles:.0%}): {barred.why}[/]",
            highlight=False,
        )


def _mates(crosses: tuple[TestCross, ...]) -> object:
    eggs = crosses[0].eggs
    table = _table(
        "mate", f"{eggs} eggs settle", "an egg shows it, if carried", f"some of {eggs} show it",
        "carries it then", f"none of {eggs} shows it", "carries it then", "normal babies until below 5 %",
    )  # fmt: skip
    for c in crosses:
        table.add_row(
            c.mate, f"{'' if c.exact else 'about '}{c.settles:.0%}", percent(c.each), percent(c.shows),
            _or_never(c.after_some), percent(1 - c.shows), _or_never(c.after_none),
            "never" if c.normals is None else str(c.normals),
        )  # fmt: skip
    return table


def _or_never(p: float | None) -> str:
    return "–" if p is None else "sure" if p >= 1 - 1e-12 else percent(p)


def _falling(console: Console, best: TestCross) -> None:
    table = _table(f"normal babies with {best.mate}", *map(str, range(min(ACROSS, len(best.falling)))))
    table.add_row("carries it", *(percent(p) for p in best.falling[:ACROSS]))
    console.print(table)


def lab_said(lab: LabWorth) -> str:
    """One line on the laboratory."""
    errors = lab.errors
    return (
        f"settles {lab.settles:.0%}: carries it with {percent(lab.after_found)} if the gene is found, "
        f"{percent(lab.after_not)} if not; taken to miss {percent(errors.missed)} of carriers and to find it "
        f"in {percent(errors.invented)} of others. Ask the laboratory for its own rates."
    )


def _table(*names: str) -> Any:
    from rich.table import Table

    table = Table(box=None, padding=(0, 1), header_style="dim")
    for name in names:
        table.add_column(name, overflow="fold")
    return table
