"""`eggtooth generations`: ways from the animals here to a wish several crosses off."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from contextlib import AbstractContextManager
from fractions import Fraction
from time import monotonic
from typing import TYPE_CHECKING

from eggtooth.cli import typed
from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.planning.generations.search import Each, Search, Task
from eggtooth.engine.planning.generations.telling import ToldStep
from eggtooth.jobs.generations import Answer, Asked, answer, as_json, task_of

if TYPE_CHECKING:
    from rich.console import Console

    from eggtooth.engine.planning.generations.front import Way


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument("wish", metavar="WISH", help="what should hatch, as in 'Clown Piebald'")
    parser.add_argument(
        "--seasons", type=typed.count, default=3, metavar="N", help="seasons from the next one on (3)"
    )
    parser.add_argument("--count", type=typed.count, default=1, metavar="N", help="how many are wanted (1)")
    parser.add_argument(
        "--eggs", type=typed.count, metavar="N",
        help="every clutch is laid, of N eggs that all hatch (default: as clutches vary, and fail)",
    )  # fmt: skip
    parser.add_argument(
        "--side-by-side", type=typed.count, default=2, metavar="N", help="most females in one step (2)"
    )
    parser.add_argument(
        "--clutches", type=typed.count, default=12, metavar="N", help="most clutches of a route (12)"
    )
    parser.add_argument(
        "--kinship", type=_share, metavar="SHARE",
        help="closest pair put together, as inbreeding of its young (the house's limit, 0.125)",
    )  # fmt: skip
    parser.add_argument(
        "--sons-after", type=typed.count, metavar="N", help="seasons from hatching to breeding (by age: 1)"
    )
    parser.add_argument("--daughters-after", type=typed.count, metavar="N", help="the same for daughters (2)")
    parser.add_argument(
        "--recombination", type=typed.recombination, metavar="SHARE", default=Fraction(7, 100),
        help="of a sex-linked gene in males; default 0.07, a working assumption",
    )  # fmt: skip
    parser.add_argument(
        "--despite", action="append", default=[], metavar="CAUTION", help="go against a caution that blocks"
    )
    parser.add_argument(
        "--seconds",
        type=typed.count,
        default=60,
        metavar="N",
        help="stop after so long with the best found (60)",
    )
    _add_spreading(parser)
    parser.add_argument("--all", action="store_true", help="the steps of every route, not only of a few")
    parser.add_argument(
        "--seed", type=int, default=0, help="seed where a family is too tangled to be exact (0)"
    )
    add_source_options(parser)


def _add_spreading(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--cores", type=typed.count, default=1, metavar="N", help="processes the search is spread over (1)"
    )
    parser.add_argument(
        "--machines", metavar="ADDRESS",
        help="a Dask scheduler to spread over; wants the extra `machines`",
    )  # fmt: skip


def run(asked: argparse.Namespace) -> int:
    """Print the front; 1 when the wish cannot be read, or nothing can be looked for."""
    question = Asked(
        asked.wish, asked.seasons, asked.count, asked.eggs, asked.side_by_side, asked.clutches, asked.kinship,
        asked.sons_after, asked.daughters_after, asked.recombination, frozenset(asked.despite), asked.seed,
    )  # fmt: skip
    try:
        task = task_of(question, source_of(asked), day_of(asked))
        found = answer(question, task, _searched(task, asked))
    except ValueError as wrong:
        print(wrong, file=sys.stderr)
        return 1
    if asked.json:
        print(json.dumps(as_json(found), ensure_ascii=False))
    else:
        show(found, asked.all)
    return 0


def _searched(task: Task, asked: argparse.Namespace) -> Search:
    """Search until the end, the time limit or Ctrl-C; what was found until then counts."""
    until = monotonic() + asked.seconds
    search = Search(task, lambda: monotonic() > until)
    with _spread(asked) as each:
        search.each = each
        try:
            for state in _shown(search, asked.json):
                search = state
        except KeyboardInterrupt:
            search.stopped = True
    return search


def _shown(search: Search, quiet: bool) -> Iterator[Search]:
    """The search, with a line of progress on a terminal."""
    if quiet or not sys.stderr.isatty():
        yield from search.run()
        return
    from rich.console import Console

    with Console(stderr=True).status("looking") as status:
        for state in search.run():
            status.update(
                f"{state.doing}; {state.looked_at:,} routes worked out, {len(state.front.ways)} not beaten "
                "(Ctrl-C for the best so far)"
            )
            yield state


def _spread(asked: argparse.Namespace) -> AbstractContextManager[Each | None]:
    from eggtooth.jobs.spread import over

    return over(asked.cores, asked.machines)


def show(found: Answer, every: bool) -> None:
    """The front as a table, and the steps of a few of its routes."""
    from rich.console import Console

    console = Console()
    if not found.ways:
        console.print(_nothing(found))
        return
    console.print(_front(found))
    chosen = list(range(len(found.ways))) if every else _chosen(found)
    for place in chosen:
        way, steps = found.ways[place]
        console.print(f"\n[bold]Route {place + 1}[/]  {_summary(way)}")
        _steps(steps, way, console)
    console.print()
    for line in terms(found):
        console.print(f"[dim]{line}[/]")


def _nothing(found: Answer) -> str:
    sure = "There is no route" if found.search.complete else "No route was found"
    why = "; ".join(f"{len(tags)} left out: {why}" for why, tags in found.task.stock.left_out.items())
    return (
        f"{sure} to {found.asked.wish} within {found.task.times.seasons} seasons from the animals here under "
        f"a kinship limit of {found.task.rules.kinship_limit:g}." + (f" {why}." if why else "")
    )


def _chosen(found: Answer) -> list[int]:
    picked = found.picks.values()
    return [i for i, (way, _) in enumerate(found.ways) if any(way is p for p in picked)]


def _front(found: Answer) -> object:
    from rich.table import Table

    table = Table(box=None, padding=(0, 1), header_style="dim")
    for name in ("route", "seasons", "clutches at most", "on average", "held back", "chance", ""):
        table.add_column(name, justify="left" if not name else "right")
    for i, (way, _) in enumerate(found.ways):
        best = ", ".join(name for name, pick in found.picks.items() if pick is way)
        seasons, clutches, held = way.costs
        table.add_row(
            str(i + 1), str(seasons), str(clutches), f"{way.chance.pairings:.1f}", str(held), _chance(way.p),
            best,
        )  # fmt: skip
    return table


def _summary(way: Way) -> str:
    seasons, clutches, held = way.costs
    return (
        f"{_chance(way.p)} by the end of season {seasons} (hatching {way.route.times.year(seasons)}), "
        f"{clutches} clutches at most, {held} held back"
    )


def _steps(steps: tuple[ToldStep, ...], way: Way, console: Console) -> None:
    from rich.table import Table

    table = Table(box=None, padding=(0, 1), header_style="dim")
    for name in ("season", "male", "female", "hold back", "an egg", "eggs for 90 / 95 %", "in time"):
        table.add_column(name, overflow="fold")
    for step in steps:
        times = f"{step.step.tries} times at most" if step.step.tries > 1 else "once"
        names = ", ".join(name for held in step.keeps for name in held.names)
        table.add_row(
            f"{step.seasons[0]} ({times})" if step.seasons[0] == step.seasons[1] or step.step.tries == 1
            else f"{step.seasons[0]}-{step.seasons[1]} ({times})",
            step.male,
            " + ".join(step.females),
            f"[bold]{step.keep}[/]" if step.last else f"{names} = {step.keep}",
            _chance(step.eggs.p),
            " / ".join("no number" if n is None else str(n) for n in step.eggs.needed),
            _chance(step.eggs.step),
        )  # fmt: skip
    console.print(table)


def terms(found: Answer) -> list[str]:
    """What the figures rest on."""
    times, task = found.task.times, found.task
    lines = [
        f"{found.standing[0].upper()}{found.standing[1:]}. {found.search.looked_at:,} routes worked out.",
        f"A son breeds {_later(times.sons_after)} his own season, a daughter {_later(times.daughters_after)} "
        "hers, by age alone; waiting for mass takes a season or two more (--sons-after, --daughters-after).",
        _clutches(found),
        "Animals' odds are taken as independent of each other. `an egg`: chance that a fertile egg hatches "
        "as sought; `eggs`: fertile eggs for that step alone.",
    ]
    left = [f"{len(tags)} ({why})" for why, tags in task.stock.left_out.items()]
    return lines + ([f"Left out: {'; '.join(left)}."] if left else [])


def _later(seasons: int) -> str:
    return "in the season after" if seasons == 1 else f"{seasons} seasons after"


def _clutches(found: Answer) -> str:
    odds = found.task.chances.hatchlings
    mean = sum(n * p for n, p in enumerate(odds))
    if found.asked.eggs is not None:
        return f"Every clutch is taken to have {found.asked.eggs} eggs that all hatch."
    return (
        f"A female put with a male for a season brings {mean:.1f} hatchlings on average and none at all with "
        f"{odds[0]:.0%}: she may not lay, the clutch may fail."
    )


def _chance(p: float) -> str:
    return f"{p:.1%}" if 0.001 <= p <= 0.999 else f"{p:.2g}" if p < 0.001 else ">99.9%" if p < 1 else "100%"


def _share(text: str) -> float:
    try:
        share = float(text)
    except ValueError:
        share = -1.0
    if not 0 <= share <= 1:
        raise argparse.ArgumentTypeError(f"{text!r} is not a share between 0 and 1")
    return share
