"""Reading `wishes.csv` and `incubators.csv`: short files, one value a line."""

from __future__ import annotations

import csv
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from pathlib import Path
from typing import Generic, TypeVar

from eggtooth.engine.colony import Incubator, Wish
from eggtooth.engine.wording import say
from eggtooth.records.files.fields import LONGEST_WISH, Measure, tag_of, words_of
from eggtooth.records.files.refusal import Refusal, Wrong, nearest
from eggtooth.records.files.table import Unreadable, open_table

WEIGHT = Measure(say("how much a wish matters"), 0, 1_000_000)
WANTED = Measure(say("how many are wanted"), 1, 10_000, whole=True)
PLACES = Measure(say("the number of places"), 1, 10_000, whole=True)
TARGET_C = Measure(say("the temperature an incubator is set to"), 20, 40, unit="°C")

T = TypeVar("T")
WishText = Callable[[str, Collection[str]], str]
"""The canonical text of a wish, given the tags of the animals. Raises `Wrong`."""


@dataclass(slots=True)
class Lines(Generic[T]):
    """The values of a short file and the lines refused."""

    values: list[T] = field(default_factory=list)
    refusals: list[Refusal] = field(default_factory=list)
    header: list[str] = field(default_factory=list)
    refused: list[tuple[list[str], str]] = field(default_factory=list)


def wish_text(words: str, animals: Collection[str]) -> str:
    """The wish in its canonical form: a look, `prove TAG`, `prove TAG GENE` or `keep line TAG`.

    Raises `Wrong` with the nearest gene or tag.
    """
    from eggtooth.engine.planning.wishes import WishError, read_wish

    try:
        return read_wish(words, animals).text
    except WishError as wrong:
        raise Wrong("wish", wrong.tag, str(wrong), "", nearest(wrong.tag, animals)) from None


def read_wishes(
    path: Path, text_of: WishText | None = None, animals: Collection[str] = frozenset()
) -> Lines[Wish]:
    """Read the wishes; an empty weight or count is 1. `text_of` makes a text canonical, or says why not."""

    def wish(text: dict[str, str]) -> Wish:
        words = words_of("wish", text["wish"], LONGEST_WISH)
        if not words:
            raise Wrong(
                "wish",
                "",
                say("the wish is missing"),
                say("write a look, like Clown Piebald or het Clown female"),
            )
        words = text_of(words, animals) if text_of else words
        return wish_of(words, text["weight"], text["count"])

    return _read(path, "wishes", wish)


def wish_of(words: str, weight: str, count: str) -> Wish:
    """A wish from its canonical text, its weight and its count as typed; empty is 1. Raises `Wrong`."""
    return Wish(words, WEIGHT.read("weight", weight.strip() or "1"), _wanted(words, count.strip()))


def _wanted(words: str, text: str) -> int:
    """How many are wanted; of proving there is only one."""
    count = int(WANTED.read("count", text or "1"))
    if count > 1 and words.casefold().startswith("prove "):
        raise Wrong("count", text, say("cannot be"), say("an animal is proved once; leave the count empty"))
    return count


def read_incubators(path: Path, animals: frozenset[str] = frozenset()) -> Lines[Incubator]:
    """Read the incubators; a tag may not be an animal's, or its temperatures would be the animal's."""
    seen: set[str] = set()

    def incubator(text: dict[str, str]) -> Incubator:
        tag = tag_of("tag", text["tag"])
        if tag in seen or tag in animals:
            raise Wrong(
                "tag", tag, say("stands here already") if tag in seen else say("is the tag of an animal")
            )
        places = int(PLACES.read("places", text["places"]))
        found = Incubator(tag, places, TARGET_C.read("target_c", text["target_c"]))
        seen.add(tag)
        return found

    return _read(path, "incubators", incubator)


def _read(path: Path, role: str, value: Callable[[dict[str, str]], T]) -> Lines[T]:
    try:
        table = open_table(path, role)
    except Unreadable as unreadable:
        return Lines(refusals=list(unreadable.refusals))
    found: Lines[T] = Lines(header=table.header)
    try:
        for row in table.reader:
            if not any(map(str.strip, row)):
                continue
            try:
                if len(row) != len(table.header):
                    raise table.too_wide(row)
                found.values.append(value({c: row[i].strip() for c, i in table.places.items()}))
            except Wrong as wrong:
                refusal = wrong.at(table.file, table.line)
                found.refusals.append(refusal)
                found.refused.append((row, refusal.text))
    except csv.Error as error:
        found.refusals.append(table.broken(error))
    return found
