"""Animals and entries typed on a page, taken as the lines of a file are: same reading, same refusals."""

from __future__ import annotations

import re
import tempfile
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import accumulate
from pathlib import Path

from eggtooth.engine.colony import Animal, Colony
from eggtooth.engine.entries import Entry
from eggtooth.jobs.gather import NOTATION
from eggtooth.records import store
from eggtooth.records.files.animals import read_animals
from eggtooth.records.files.refusal import Refusal
from eggtooth.records.files.table import COLUMNS
from eggtooth.records.files.writing import animal_row, csv_text

FIELDS = COLUMNS["animals"]
_BREAK = re.compile(r"\r\n|\r|\n")


class Changed(ValueError):
    """Somebody else changed the animal while the page was open."""


def fields_of(animal: Animal) -> dict[str, str]:
    """An animal as its line in the file, by column."""
    return dict(zip(FIELDS, animal_row(animal), strict=True))


def read_rows(
    rows: Sequence[Mapping[str, str]], on: date, kept: Colony
) -> tuple[dict[str, Animal], list[Refusal]]:
    """The animals of typed rows, and what is wrong with which (`line` 2 is the first row).

    A field may hold line breaks, so that a row is more than one line of the file it is read as.
    """
    text = csv_text(FIELDS, ([row.get(f, "") for f in FIELDS] for row in rows))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "typed.csv"
        path.write_text(text, encoding="utf-8", newline="")
        found = read_animals(path, on, kept.animals, NOTATION.genes_problem, kept.incubators)
    ends = list(accumulate(map(_lines, rows), initial=1))
    return found.animals, [replace(r, line=max(1, bisect_left(ends, r.line)) + 1) for r in found.refusals]


def _lines(row: Mapping[str, str]) -> int:
    return 1 + sum(len(_BREAK.findall(row.get(f, ""))) for f in FIELDS)


def save_changed(row: Mapping[str, str], was: Mapping[str, str], on: date) -> list[Refusal]:
    """Keep one animal as typed; returns what is wrong with it, and keeps nothing then.

    `was` is the line as it stood when the page was made, empty for a new animal. Raises `Changed` when it no
    longer stands so: the later one is told, nothing is silently overwritten.
    """
    with store.all_or_nothing():
        kept = store.colony()
        tag = row.get("tag", "").strip()
        here = kept.animals.get(tag)
        if here is not None and fields_of(here) != dict(was):
            raise Changed(_told(tag, fields_of(here), was))
        if not tag:
            return [Refusal("", 2, "tag", "", "the tag is missing")]
        animals, refusals = read_rows([row], on, kept)
        if not refusals:
            store.save_animals(animals.values())
        return refusals


def _told(tag: str, here: Mapping[str, str], was: Mapping[str, str]) -> str:
    if not was:
        return f"{tag} is an animal here already; give the new one another tag"
    changed = [f"{f} is now {here[f] or 'empty'}" for f in FIELDS if here[f] != was.get(f, "")]
    return f"{tag} was changed by somebody else meanwhile: {', '.join(changed)}; look again and save again"


def save_together(rows: Sequence[Mapping[str, str]], entries: Sequence[Entry], on: date) -> list[Refusal]:
    """Keep new animals and the first entries about them, all or none; returns what is wrong with them."""
    with store.all_or_nothing():
        kept = store.colony()
        taken = [
            Refusal("", n, "tag", tag, "is an animal here already", "give the new one another tag")
            for n, row in enumerate(rows, 2)
            if (tag := row.get("tag", "").strip()) in kept.animals
        ]
        animals, refusals = read_rows(rows, on, kept)
        if not (taken or refusals):
            store.save_animals(animals.values())
            store.add_entries(entries)
        return taken + refusals
