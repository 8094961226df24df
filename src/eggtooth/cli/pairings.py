"""`eggtooth pairings`: who goes to whom this season, for the wishes."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from eggtooth.cli.sources import add_source_options, day_of, paths_of, source_of
from eggtooth.engine.planning.plan import PlannedPair, Role, SeasonPlan, Status, changes
from eggtooth.engine.planning.wishes import WishError
from eggtooth.jobs.pairings import SECONDS, Asked, UnknownTag, as_json, compared_json, keep, plan_for
from eggtooth.records.files.reading import Paths

if TYPE_CHECKING:
    from rich.console import Console


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument(
        "--pin", action="append", default=[], type=_pair, metavar="MALE:FEMALE", help="this male goes to her"
    )
    parser.add_argument(
        "--ban", action="append", default=[], type=_pair, metavar="MALE:FEMALE", help="these two never meet"
    )
    parser.add_argument(
        "--free", action="append", default=[], type=_pair, metavar="MALE:FEMALE", help="neither pin nor ban"
    )
    parser.add_argument(
        "--keep", action="store_true", help="keep these pins and bans in the store when a plan holds them"
    )
    parser.add_argument(
        "--without", action="append", default=[], metavar="TAG", help="what if this animal took no part"
    )
    parser.add_argument(
        "--despite", action="append", default=[], type=_reason, metavar="CAUTION=REASON",
        help="go against a caution, with your reason",
    )  # fmt: skip
    parser.add_argument(
        "--gap",
        type=_share,
        metavar="SHARE",
        help="stop this near the best, like 0.01 (the best; with very many pairs 0.0001)",
    )
    parser.add_argument(
        "--seconds", type=_seconds, default=SECONDS, metavar="N", help="stop after about N seconds (60)"
    )
    parser.add_argument(
        "--seed", type=int, default=0, help="seed where a family is too tangled to be exact (0)"
    )
    add_source_options(parser)


def run(asked: argparse.Namespace) -> int:
    """Print the plan; 1 when the pins clash or name nobody."""
    if asked.keep and paths_of(asked) != Paths():
        print("eggtooth: --keep is for the store; files are not written", file=sys.stderr)
        return 2
    source = source_of(asked)
    words = {"pin": asked.pin, "ban": asked.ban, "": asked.free}
    choices = {pair: says for says, pairs in words.items() for pair in pairs}
    if len(choices) < sum(len(set(pairs)) for pairs in words.values()):
        print("eggtooth: the same pair is named twice, under different options", file=sys.stderr)
        return 2
    what = Asked(choices, frozenset(asked.without), dict(asked.despite), asked.gap, asked.seconds, asked.seed)
    try:
        with solver_silent():
            plan = plan_for(source, day_of(asked), what)
            asks_what_if = bool(choices or asked.without) and plan.status is not Status.CLASH
            usual = replace(what, choices={}, without=frozenset())
            before = plan_for(source, day_of(asked), usual) if asks_what_if else None
    except (UnknownTag, WishError, ValueError) as wrong:
        print(wrong, file=sys.stderr)
        return 1
    if asked.json:
        compared = {"compared": compared_json(before, plan)} if before else {}
        print(json.dumps(as_json(plan) | compared, ensure_ascii=False))
    if plan.status is Status.CLASH:
        print("These cannot be kept together:", *plan.clash, sep="\n  ", file=sys.stderr)
        if source.choices:
            print("A choice that is kept is taken back with --free MALE:FEMALE --keep.", file=sys.stderr)
        return 1
    if not asked.json:
        show(plan)
        if before:
            print(what_if(before, plan))
    if asked.keep:
        keep(choices)
    return 0


@contextmanager
def solver_silent() -> Iterator[None]:
    """What the solver's own code writes on stdout goes to stderr: stdout is the answer's alone."""
    sys.stdout.flush()
    stdout = os.dup(1)
    os.dup2(2, 1)
    try:
        yield
    finally:
        os.dup2(stdout, 1)
        os.close(stdout)


def show(plan: SeasonPlan) -> None:
    """The plan for people: what it does for each wish, the pairs, and who is left over."""
    from rich.console import Console

    console = Console()
    if not plan.wishes:
        console.print("No wishes are written down; a plan needs to know what you want to see hatch.")
        return
    _show_wishes(plan, console)
    _show_pairs(plan, console)
    _show_unplaced(plan, console)
    console.print(worth(plan), style="dim")


def worth(plan: SeasonPlan) -> str:
    """How good the plan is known to be, in a sentence."""
    most = sum(w.weight for w in plan.wishes)
    head = f"Worth {plan.value:.3f} of {most:g}, the weight of all wishes"
    if plan.status is Status.OPTIMAL:
        return f"{head}; no plan within the rules is worth more."
    return f"{head}; no plan within the rules is worth more than {plan.bound:.3f} ({plan.gap:.2%} more)."


def what_if(before: SeasonPlan, after: SeasonPlan) -> str:
    """What is lost against the plan as kept, and who changes."""
    lost = before.value - after.value
    cost = f"costs {lost:.3f}" if lost > 0 else f"adds {-lost:.3f}" if lost < 0 else "costs nothing"
    said = [f"{f}: {a or 'no male'} → {b or 'no male'}" for f, a, b in changes(before, after)]
    return f"Against the plan as kept this {cost}. " + ("; ".join(said) if said else "No first male changes.")


def _show_wishes(plan: SeasonPlan, console: Console) -> None:
    from rich.table import Table

    table = Table(box=None, padding=(0, 1), header_style="dim", title="wishes", title_justify="left")
    for column in ("wish", "weight", "wanted", "expected", "as many as wanted"):
        table.add_column(column)
    for w in plan.wishes:
        table.add_row(w.wish, f"{w.weight:g}", str(w.count), f"{w.expected:.2f}", f"{_bar(w.p)} {w.p:.0%}")
    console.print(table)


def _bar(p: float) -> str:
    full = round(10 * p)
    return "█" * full + "·" * (10 - full)


def _show_pairs(plan: SeasonPlan, console: Console) -> None:
    from rich.table import Table

    spares = {p.female: p for p in plan.pairs if p.role is Role.SPARE}
    table = Table(box=None, padding=(0, 1), header_style="dim", title="pairs", title_justify="left")
    for column in ("she", "he", "spare", "adds"):
        table.add_column(column, no_wrap=True)
    table.add_column("why", overflow="fold")
    for p in plan.pairs:
        if p.role is Role.FIRST:
            spare = spares.get(p.female)
            table.add_row(p.female, p.male, spare.male if spare else "–", f"{p.value:.3f}", _why(p))
    console.print(table)


def _why(pair: PlannedPair) -> str:
    parts = [pair.why]
    if pair.kinship > 0:
        parts.append(f"young inbred {pair.kinship:.1%}")
    parts += [f"caution: {text}" for text in pair.cautions]
    return "; ".join(parts)


def _show_unplaced(plan: SeasonPlan, console: Console) -> None:
    from rich.table import Table

    if not plan.unplaced:
        return
    table = Table(box=None, padding=(0, 1), header_style="dim", title="without a male", title_justify="left")
    table.add_column("she", no_wrap=True)
    table.add_column("why", overflow="fold")
    for u in plan.unplaced:
        table.add_row(u.tag, u.why)
    console.print(table)


def _pair(text: str) -> tuple[str, str]:
    male, colon, female = text.partition(":")
    if not (colon and male.strip() and female.strip()):
        raise argparse.ArgumentTypeError(f"{text!r} is not a pair; write MALE:FEMALE, like M03:F12")
    return male.strip(), female.strip()


def _reason(text: str) -> tuple[str, str]:
    name, sign, why = text.partition("=")
    if not (sign and name.strip() and why.strip()):
        raise argparse.ArgumentTypeError(f"{text!r}: write CAUTION=REASON")
    return name.strip(), why.strip()


def _share(text: str) -> float:
    try:
        share = float(text)
    except ValueError:
        share = -1.0
    if not 0 <= share < 1:
        raise argparse.ArgumentTypeError(f"{text!r} is not a share from 0 to 1, like 0.01")
    return share


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = -1.0
    if not 0 < seconds <= 86_400:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of seconds, like 60")
    return seconds
