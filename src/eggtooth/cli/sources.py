"""The options all commands share: where the data comes from, and for which day."""

from __future__ import annotations

import argparse
import gc
import sys
from collections.abc import Callable, Iterable
from datetime import date
from pathlib import Path

from eggtooth.cli import DAMAGED
from eggtooth.jobs.gather import Refused, Source, StoreFault, from_files, from_store, open_store
from eggtooth.records.files.reading import Paths
from eggtooth.records.files.refusal import Refusal

MOST_LINES = 200


def add_source_options(parser: argparse.ArgumentParser) -> None:
    """`--animals --log --wishes --incubators` (else the store), `--on`, `--json`."""
    files = parser.add_argument_group("plain files instead of the store")
    add_file_options(files)
    add_answer_options(parser)


def add_file_options(parser: argparse._ActionsContainer) -> None:
    """The four files."""
    for name in ("animals", "log", "wishes", "incubators"):
        parser.add_argument(f"--{name}", type=Path, metavar=f"{name}.csv", help=f"the {name} as csv")


def add_answer_options(parser: argparse.ArgumentParser) -> None:
    """`--on` and `--json`."""
    parser.add_argument(
        "--on", type=_day, metavar="DATE", help="the day asked about, like 2026-01-31 (today)"
    )
    parser.add_argument("--json", action="store_true", help="answer with one json document")


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date; write it like 2026-01-31") from None
    if not 1970 <= day.year <= 2100:
        raise argparse.ArgumentTypeError(f"{text} is too far away; days run from 1970 to 2100")
    return day


def day_of(asked: argparse.Namespace) -> date:
    """The day asked about; today by this machine's clock when none was named."""
    day: date = asked.on or date.today()
    return day


def paths_of(asked: argparse.Namespace) -> Paths:
    """The files named."""
    return Paths(asked.animals, asked.log, asked.wishes, asked.incubators)


def source_of(asked: argparse.Namespace) -> Source:
    """The colony asked about. Prints refusals and leaves with 1 when the data is at fault, 2 on wrong use."""
    paths = paths_of(asked)
    if paths == Paths():
        open_or_leave()
        return _long_lived(from_store)
    if paths.animals is None:
        print("eggtooth: --animals is needed when files are named", file=sys.stderr)
        raise SystemExit(2)
    try:
        return _long_lived(lambda: from_files(paths, day_of(asked)))
    except Refused as refused:
        say_refusals(refused.refusals)
        raise SystemExit(1) from None


def _long_lived(gather: Callable[[], Source]) -> Source:
    """Gather with the collector off: the values all stay until the end, so none of them is garbage."""
    gc.disable()
    try:
        return gather()
    finally:
        gc.freeze()
        gc.enable()


def open_or_leave() -> None:
    """Open the store; leave with 1 and a clear word when it cannot be opened."""
    try:
        open_store()
    except StoreFault as fault:
        print(f"eggtooth: {fault}", file=sys.stderr)
        if "malformed" in str(fault):
            print(DAMAGED, file=sys.stderr)
        raise SystemExit(1) from None


def say_refusals(refusals: Iterable[Refusal]) -> None:
    """Refusals on stderr, one a line; past `MOST_LINES` only their number."""
    told = list(refusals)
    for refusal in told[:MOST_LINES]:
        print(refusal, file=sys.stderr)
    if len(told) > MOST_LINES:
        print(f"… and {len(told) - MOST_LINES:,} more lines refused", file=sys.stderr)
