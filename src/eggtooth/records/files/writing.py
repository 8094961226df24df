"""Writing the files in their one canonical form: `read(write(x)) == x`."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from datetime import datetime
from uuid import UUID

from eggtooth.engine.colony import Animal, Incubator, State, Wish
from eggtooth.engine.entries import Entry, detail_text
from eggtooth.records.files.log import OPTIONAL
from eggtooth.records.files.safe_cells import guarded
from eggtooth.records.files.table import COLUMNS


def animals_text(animals: Iterable[Animal]) -> str:
    """`animals.csv`."""
    return csv_text(COLUMNS["animals"], map(animal_row, animals))


def log_text(
    entries: Iterable[Entry], noted_at: Mapping[str, datetime] | None = None, more: bool = True
) -> str:
    """`log.csv`; with `more` also the note, who noted it, when, and the entry's id where it is a UUID."""
    if not more:
        return csv_text(COLUMNS["log"], map(_entry_row, entries))
    times = noted_at or {}
    return csv_text(COLUMNS["log"] + OPTIONAL, ([*_entry_row(e), *_more(e, times)] for e in entries))


def voided_text(voided: Iterable[tuple[Entry, str, datetime, str]], noted_at: Mapping[str, datetime]) -> str:
    """`voided.csv`: entries taken back, each with by whom, when and why."""
    header = (*COLUMNS["voided"], *(c for c in OPTIONAL if c not in COLUMNS["voided"]))
    rows = []
    for entry, by, when, why in voided:
        note, noted_by, noted, key = _more(entry, noted_at)
        rows.append([*_entry_row(entry), key, by, when.isoformat(), why, note, noted_by, noted])
    return csv_text(header, rows)


def wishes_text(wishes: Iterable[Wish]) -> str:
    """`wishes.csv`."""
    return csv_text(COLUMNS["wishes"], ([w.text, number(w.weight), str(w.count)] for w in wishes))


def incubators_text(incubators: Iterable[Incubator]) -> str:
    """`incubators.csv`."""
    rows = ([i.tag, str(i.places), number(i.target_c)] for i in incubators)
    return csv_text(COLUMNS["incubators"], rows)


def refused_text(header: list[str], refused: Iterable[tuple[list[str], str]]) -> str:
    """Refused lines as they stood, with the reason in a last column `why`."""
    width = len(header)
    rows = ([*row[:width], *[""] * (width - len(row)), *row[width:], why] for row, why in refused)
    return csv_text([*header, "why"], rows)


def csv_text(header: Iterable[str], rows: Iterable[list[str]]) -> str:
    """Rows as csv with `\\n` line ends; no cell runs as a formula in a spreadsheet."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(map(guarded, header))
    writer.writerows(map(guarded, row) for row in rows)
    return out.getvalue()


def number(value: float | None) -> str:
    """The shortest text that reads back as the same number."""
    if value is None:
        return ""
    return str(int(value)) if value == int(value) else repr(value)


def animal_row(animal: Animal) -> list[str]:
    """An animal as the fields of its line."""
    return [
        animal.tag,
        animal.name,
        animal.sex.value,
        animal.hatched.isoformat() if animal.hatched else "",
        animal.genes,
        "|".join(animal.sires),
        animal.dam,
        animal.clutch,
        str(animal.tub) if animal.tub else "",
        "" if animal.state is State.HERE else animal.state.value,
        animal.note,
    ]


def _entry_row(entry: Entry) -> list[str]:
    moment = entry.at.isoformat() if entry.at else entry.on.isoformat()
    detail = detail_text(entry.detail, entry.kind).strip()
    return [moment, entry.tag, entry.kind.value, number(entry.value), detail]


def _more(entry: Entry, noted_at: Mapping[str, datetime]) -> list[str]:
    at = noted_at.get(entry.id)
    return [entry.note, entry.by, at.isoformat() if at else "", entry.id if _is_uuid(entry.id) else ""]


def _is_uuid(text: str) -> bool:
    try:
        return UUID(text).hex == text.replace("-", "")
    except ValueError:
        return False
