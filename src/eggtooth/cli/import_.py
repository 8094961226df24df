"""`eggtooth import`: bring csv files, or the folder of an export, into the store."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from eggtooth.cli.sources import (
    add_answer_options,
    add_file_options,
    day_of,
    open_or_leave,
    paths_of,
    say_refusals,
)
from eggtooth.jobs.bring_in import BroughtIn, Tell, bring_in
from eggtooth.jobs.gather import NOTATION, Refused
from eggtooth.jobs.take_out import choices_in, paths_in
from eggtooth.records.files.fields import LEEWAY
from eggtooth.records.files.reading import Paths


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument("folder", type=Path, nargs="?", help="a folder that `eggtooth export` wrote")
    add_file_options(parser.add_argument_group("files"))
    parser.add_argument(
        "--keep-good", action="store_true", help="keep the good lines; the refused come back in a file"
    )
    add_answer_options(parser)


def run(asked: argparse.Namespace) -> int:
    """Import; exit 1 when lines are refused: then nothing is kept, unless the good lines were asked for."""
    paths, settings, choices = paths_of(asked), None, None
    if asked.folder is not None:
        if not asked.folder.is_dir():
            print(f"eggtooth: {asked.folder} is not a folder", file=sys.stderr)
            return 2
        there, settings = paths_in(asked.folder)
        choices = choices_in(asked.folder)
        named = {name: path for name in Paths.__slots__ if (path := getattr(paths, name))}
        paths = replace(there, **named)
    if paths == Paths() and settings is None:
        print(
            "eggtooth: nothing to import; name --animals, --log, --wishes, --incubators or a folder",
            file=sys.stderr,
        )
        return 2
    open_or_leave()
    latest = day_of(asked) + LEEWAY
    try:
        good = asked.keep_good
        with _watched(asked.json) as tell:
            done = bring_in(
                paths,
                latest,
                keep_good=good,
                settings=settings,
                choices=choices,
                notation=NOTATION,
                tell=tell,
            )
    except Refused as refused:
        say_refusals(refused.refusals)
        print("Nothing was imported.", file=sys.stderr)
        return 1
    say_refusals(done.refusals)
    print(json.dumps(as_json(done)) if asked.json else in_words(done))
    return 0


@contextmanager
def _watched(quiet: bool) -> Iterator[Tell | None]:
    """On a terminal: how far it has come, and for how long it goes on. Ctrl-C keeps nothing of it."""
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("reading the files", total=None)
        yield lambda total, done: progress.update(
            task, description="keeping the entries", total=total, completed=done
        )


def as_json(done: BroughtIn) -> dict[str, object]:
    """What was kept."""
    return {
        "animals": done.animals,
        "entries": done.entries,
        "entries_new": done.entries_new,
        "wishes": done.wishes,
        "incubators": done.incubators,
        "refused": [str(r) for r in done.refusals],
        "refused_files": [str(f) for f in done.refused_files],
    }


def in_words(done: BroughtIn) -> str:
    """What was kept, for people."""
    said = [
        f"{done.animals:,} animals, {done.entries:,} entries ({done.entries_new:,} of them new), "
        f"{done.wishes:,} wishes and {done.incubators:,} incubators are in the store."
    ]
    said += [f"Refused lines are in {file}." for file in done.refused_files]
    return "\n".join(said)
