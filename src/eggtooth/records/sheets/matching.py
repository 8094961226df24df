"""Matching a sheet's columns to those of the files, by their names and by what stands in them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from eggtooth.engine.entries import Kind
from eggtooth.records.files.table import COLUMNS
from eggtooth.records.files.writing import csv_text
from eggtooth.records.sheets.dates import Order, iso_date, order_of
from eggtooth.records.sheets.opening import Sheet

ALSO: dict[str, tuple[str, ...]] = {
    "tag": ("tag", "id", "animal", "animal id", "number", "no", "snake", "code"),
    "name": ("name",),
    "sex": ("sex", "gender", "m/f"),
    "hatched": (
        "hatched",
        "hatch date",
        "hatchdate",
        "date of birth",
        "dob",
        "born",
        "birth date",
        "birthdate",
    ),
    "genes": ("genes", "genetics", "morph", "look", "traits", "genotype", "phenotype"),
    "sire": ("sire", "father", "sire id", "dad"),
    "dam": ("dam", "mother", "dam id", "mom", "mum"),
    "clutch": ("clutch", "clutch id"),
    "tub": ("tub", "location", "rack", "place", "enclosure"),
    "state": ("state", "status"),
    "note": ("note", "notes", "comment", "comments", "remarks"),
    "date": ("date", "day", "when", "on"),
    "kind": ("kind", "type", "event", "what", "activity"),
    "value": ("value", "amount", "weight", "grams", "g", "quantity", "weight g"),
    "detail": ("detail", "details", "prey", "item", "with", "partner"),
}
"""Words people write over such columns; plain English, and the files' own."""

ROLES = ("animals", "log")
SEXES = {"male": "M", "female": "F", "m": "M", "f": "F", "♂": "M", "♀": "F", "1.0": "M", "0.1": "F"}
UNKNOWN_SEX = {"unknown", "unsexed", "?", "0.0.1", "u", "n/a", "none"}
STATES = {
    "alive": "here",
    "active": "here",
    "kept": "here",
    "holdback": "here",
    "deceased": "dead",
    "died": "dead",
}
KINDS = {
    "weighed": "weight", "weighing": "weight", "fed": "meal", "feeding": "meal", "ate": "meal",
    "shedding": "shed", "ultrasound": "scan", "locked": "lock", "locked up": "lock", "ovulated": "ovulation",
    "prelay": "prelay shed", "pre-lay shed": "prelay shed", "eggs laid": "laid",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Match:
    """How a sheet is to be read: as which file, which of its columns is which, and the order of its dates.

    `columns` maps a column of the file to a place in the sheet; `kind` fills the kind of a log that has none.
    """

    role: str
    columns: Mapping[str, int]
    order: Order = Order.YEAR
    kind: str = ""


def guess(sheet: Sheet) -> Match:
    """The likeliest reading: the file whose needed columns are found, each column by its name."""
    found = {role: _columns(sheet, role) for role in ROLES}
    role = (
        "log"
        if "date" in found["log"] and len(found["log"]) > 1 and not _one_a_tag(sheet, found)
        else "animals"
    )
    columns = found[role]
    date_column = columns.get("date" if role == "log" else "hatched")
    order = order_of(sheet.column(date_column)) if date_column is not None else Order.YEAR
    return Match(role, columns, order, _kind_of(sheet, columns) if role == "log" else "")


def _columns(sheet: Sheet, role: str) -> dict[str, int]:
    names = [_plain(name) for name in sheet.header]
    found: dict[str, int] = {}
    for column in COLUMNS[role]:
        for word in ALSO[column]:
            if word in names and names.index(word) not in found.values():
                found[column] = names.index(word)
                break
    return found


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[_()#:.]+", " ", text).split()).casefold()


def _one_a_tag(sheet: Sheet, found: Mapping[str, Mapping[str, int]]) -> bool:
    """Whether each animal stands once, as in a list of animals, with some column that only animals have."""
    tags = sheet.column(found["animals"].get("tag", 0))
    return len(set(tags)) == len(tags) and bool({"genes", "sex", "hatched"} & set(found["animals"]))


def _kind_of(sheet: Sheet, columns: Mapping[str, int]) -> str:
    """A sheet of one kind of entry names it by its number's column: weights or meals."""
    if "kind" in columns:
        return ""
    name = _plain(sheet.header[columns["value"]]) if "value" in columns else ""
    return Kind.WEIGHT.value if name.startswith(("weight", "gram", "g")) else Kind.MEAL.value


def as_file(sheet: Sheet, match: Match) -> str:
    """The sheet as the csv of its file: dates, sexes, states and kinds in the files' own words.

    Columns that are not matched follow with their own names, and are kept as notes. What cannot be put into
    the files' words stays as it is, and is refused by the reading with its line.
    """
    wanted = COLUMNS[match.role]
    rest = [i for i in range(len(sheet.header)) if i not in match.columns.values() and sheet.header[i]]
    readers = _readers(match)
    rows = (
        [
            *(
                readers[c](row[match.columns[c]]) if c in match.columns else match.kind if c == "kind" else ""
                for c in wanted
            ),
            *(row[i] for i in rest),
        ]
        for row in sheet.rows
    )
    return csv_text([*wanted, *(_own_name(sheet.header[i], wanted) for i in rest)], rows)


def _own_name(name: str, wanted: tuple[str, ...]) -> str:
    """A name for a column kept as a note that is not one of the file's own."""
    return f"{name} (sheet)" if name.strip().casefold() in wanted else name


def _readers(match: Match) -> dict[str, Callable[[str], str]]:
    as_it_is: Callable[[str], str] = str
    readers = dict.fromkeys(COLUMNS[match.role], as_it_is)
    readers["hatched" if match.role == "animals" else "date"] = lambda text: iso_date(text, match.order)
    if match.role == "animals":
        readers["sex"] = lambda text: (
            "" if text.casefold() in UNKNOWN_SEX else SEXES.get(text.casefold(), text)
        )
        readers["state"] = lambda text: STATES.get(text.casefold(), text)
    else:
        readers["kind"] = lambda text: KINDS.get(text.casefold(), text)
        readers["value"] = _number
    return readers


def _number(text: str) -> str:
    """A number without its unit and with a point: `1,250 g` and `1.250,5` are told apart by their signs."""
    found = re.fullmatch(
        r"\s*(-?\d{1,3}(?:[ ,]\d{3})+|-?\d+)(?:[.,](\d+))?\s*(?:g|gr|grams?|mm|°C|C|kg)?\.?\s*", text, re.I
    )
    if not found or text.strip().casefold().endswith("kg"):
        return text
    whole = re.sub(r"[ ,]", "", found[1])
    return f"{whole}.{found[2]}" if found[2] else whole
