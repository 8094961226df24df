"""`eggtooth cross`: what a pair can produce."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from string import ascii_lowercase
from typing import TYPE_CHECKING

from eggtooth.cli import typed
from eggtooth.cli.sources import add_source_options, day_of, paths_of, source_of
from eggtooth.engine.facts.catalogue import CatalogueError, catalogue
from eggtooth.engine.genetics.cautions import BLOCK, Caution
from eggtooth.engine.genetics.crosses import CrossError
from eggtooth.engine.genetics.report import CrossReport, Hope, LookRow
from eggtooth.engine.genetics.transmission import RECOMBINATION
from eggtooth.jobs.cross import FATE_TEXT, Asked, UnfitPair, answer, as_json
from eggtooth.jobs.family_odds import family_odds, is_genes, stored_colony
from eggtooth.records.files.reading import Paths
from eggtooth.records.store import StoreFault

if TYPE_CHECKING:
    from rich.console import Console

SHOWN = 24
"""Looks in the table for people; the rest is one line."""

INKS = ("cyan", "magenta", "yellow", "green", "blue", "red", "bright_cyan", "bright_magenta", "bright_yellow")
SIGNS = {"M": "male", "F": "female", "": ""}


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument("sire", metavar="SIRE", help="the male: his tag, or genes as in 'Pastel het Clown'")
    parser.add_argument("dam", metavar="DAM", help="the female: her tag, or genes")
    parser.add_argument(
        "--eggs", type=typed.count, metavar="N", help="good eggs in the clutch (default: as clutches vary)"
    )
    parser.add_argument("--best", type=typed.count, metavar="N", help="only the N likeliest looks")
    parser.add_argument(
        "--recombination", type=typed.recombination, default=RECOMBINATION, metavar="SHARE",
        help="of a sex-linked gene in males; default 0.07, a working assumption",
    )  # fmt: skip
    parser.add_argument(
        "--genes", type=Path, metavar="FILE", help="your own genes, in the form of the catalogue"
    )
    parser.add_argument(
        "--take", action="append", default=[], type=_pair, metavar="POINT=CHOICE",
        help="how to read a disputed point, as in spider-two-copies=lost",
    )  # fmt: skip
    parser.add_argument(
        "--despite", action="append", default=[], type=_pair, metavar="CAUTION=REASON",
        help="go against a caution, with your reason",
    )  # fmt: skip
    parser.add_argument(
        "--seed", type=int, default=0, help="seed where a family is too tangled to be exact (0)"
    )
    add_source_options(parser)


def run(asked: argparse.Namespace) -> int:
    """Print what the pair can produce; 1 when the genes cannot be read."""
    try:
        found = answered(question(asked), asked)
    except (CatalogueError, CrossError, UnfitPair, StoreFault, ValueError, OSError) as wrong:
        print(wrong, file=sys.stderr)
        return 1
    if asked.json:
        print(json.dumps(as_json(found), ensure_ascii=False))
    else:
        show(found)
    return 0


def answered(question: Asked, asked: argparse.Namespace) -> CrossReport:
    """From genes alone where both can be read and no file is named, else with the animals recorded."""
    colony = source_of(asked).colony if paths_of(asked) != Paths() else None
    if colony is None and not all(
        is_genes(text, question.catalogue) for text in (question.sire, question.dam)
    ):
        colony = stored_colony()
    if colony is None:
        return answer(question)
    colony = colony.as_of(day_of(asked))
    return answer(question, colony, family_odds(colony, day_of(asked), question.catalogue, asked.seed))


def question(asked: argparse.Namespace) -> Asked:
    """The question as the job takes it. Raises `CatalogueError` for a file or choice that does not fit."""
    more = asked.genes.read_text("utf-8") if asked.genes else ""
    known = catalogue(more, dict(asked.take))
    best = asked.best or (None if asked.json else SHOWN)
    reasons = dict(asked.despite)
    return Asked(asked.sire, asked.dam, asked.eggs, best, asked.recombination, reasons, known)


def _pair(text: str) -> tuple[str, str]:
    key, equals, value = text.partition("=")
    if not equals or not value.strip():
        raise argparse.ArgumentTypeError(f"{text!r} is not NAME=VALUE")
    return key.strip(), value.strip()


def show(found: CrossReport) -> None:
    """The report for people: the looks, the eggs drawn, the cautions."""
    from rich.console import Console

    console = Console()
    console.print(_table(found))
    _left_over(found, console)
    _drawn(found, console)
    for caution in found.cautions:
        console.print(_caution_line(caution))


def _table(found: CrossReport) -> object:
    from rich.table import Table

    table = Table(box=None, padding=(0, 1), header_style="dim")
    table.add_column("", no_wrap=True)
    table.add_column("look", overflow="fold")
    table.add_column("an egg", justify="right", no_wrap=True)
    table.add_column(_clutch_words(found), justify="right", overflow="fold")
    table.add_column("eggs for 95 %", justify="right")
    table.add_column("carries", overflow="fold")
    for i, row in enumerate(found.rows[:SHOWN]):
        needed = row.hope.eggs_needed[1]
        table.add_row(
            _mark(i), _look(row), _chance(row.hope.p), _of_100(row.hope),
            "–" if needed is None else str(needed), _carries(row),
        )  # fmt: skip
    return table


def _of_100(hope: Hope) -> str:
    count = hope.of_100_clutches
    return f"{count} of 100" if count or not hope.p else "under 1 of 100"


def _clutch_words(found: CrossReport) -> str:
    return "clutches with one" if found.eggs is None else f"clutches of {found.eggs} with one"


def _mark(i: int) -> str:
    """The sign of a look, in the table and on the eggs: a letter, so that it reads without colour too."""
    return f"[{INKS[i % len(INKS)]}]{ascii_lowercase[i]}[/]"


def _look(row: LookRow) -> str:
    words = " ".join(row.outcome.looks)
    sex = SIGNS[row.outcome.sex]
    told = [w for w in (sex, row.known_as, *(FATE_TEXT[fate] for _, fate in row.outcome.fates)) if w]
    return words + (f" ({'; '.join(told)})" if told else "")


def _chance(p: Fraction) -> str:
    percent = f"{float(p):.1%}" if p >= Fraction(1, 1000) else f"{float(p):.2g}"
    return f"{p} · {percent}" if p.denominator <= 9999 else percent


def _carries(row: LookRow) -> str:
    sure = [name for name, p in row.outcome.carries if p == 1]
    odds = [f"{float(p):.0%} het {name}" for name, p in row.outcome.carries if p < 1]
    copies = [f"{float(p):.0%} two copies of {name}" for name, p in row.two_copies]
    return ", ".join([*(["het " + " ".join(sure)] if sure else []), *odds, *copies])


def _left_over(found: CrossReport, console: Console) -> None:
    hidden = found.rows[SHOWN:]
    count, p = found.rest
    count, p = count + len(hidden), p + sum((row.hope.p for row in hidden), Fraction(0))
    if count:
        console.print(f"and {count:,} more looks, together {_chance(p)}")
    if found.lost:
        console.print(f"lost before hatching: {_chance(found.lost)}")
    for u in found.unsure:
        console.print(
            f"two copies of {u.look} ({_chance(u.p)}) are not known to live: if they are lost before "
            f"hatching, {u.if_lost} of hatchlings show {u.look}; if they live, {u.if_lives}"
        )
    if found.any_visual:
        p_words = _chance(found.any_visual.p)
        console.print(
            f"any recessive shown: {p_words}; {found.any_visual.of_100_clutches} of 100 clutches hold one"
        )


def _drawn(found: CrossReport, console: Console) -> None:
    """A hundred eggs in rows of twenty, marked as the looks in the table; · the rest, × lost."""
    counts = found.drawn(100)
    looks, (rest, lost) = counts[:-2], counts[-2:]
    marks = [f"({_mark(i)})" for i, n in enumerate(looks[:SHOWN]) for _ in range(n)]
    marks += ["[dim](·)[/]"] * (rest + sum(looks[SHOWN:])) + ["[dim](×)[/]"] * lost
    console.print("\nof 100 eggs")
    for at in range(0, len(marks), 20):
        console.print("  " + "".join(marks[at : at + 20]))
    console.print()


def _caution_line(caution: Caution) -> str:
    style = "bold red" if caution.blocks else "yellow"
    grade = "blocked" if caution.level == BLOCK else "mind"
    despite = f" Gone against because: {caution.reason}." if caution.reason else ""
    return f"[{style}]{grade}[/] {caution.text}{despite} [dim]({_basis(caution)})[/] [dim]{caution.id}[/]"


def _basis(caution: Caution) -> str:
    cites: Sequence[str] = [source.cite for source in caution.basis]
    return "; ".join(cites)
