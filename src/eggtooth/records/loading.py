"""Values out of the store. Entries come as raw rows, without a model object each: a large house has many."""

from __future__ import annotations

import gc
import json
from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import date, datetime
from typing import Any, TypeVar
from uuid import UUID

from django.db import connection

from eggtooth.engine.colony import Animal, Incubator, Sex, State, Tub, Wish
from eggtooth.engine.entries import Detail, Entry, Kind
from eggtooth.records import models
from eggtooth.records.files.details import detail_of

T = TypeVar("T")
KEPT = "NOT EXISTS (SELECT 1 FROM records_voiding v WHERE v.entry_id = e.seq)"
VOIDED = "EXISTS (SELECT 1 FROM records_voiding v WHERE v.entry_id = e.seq)"


def animals() -> Iterator[Animal]:
    """All animals, in the order they were first kept."""
    sires: defaultdict[int, list[str]] = defaultdict(list)
    for child, tag in models.Sire.objects.order_by("child_id", "rank").values_list("child_id", "sire__tag"):
        sires[child].append(tag)
    columns = "id", "tag", "sex", "name", "hatched", "genes", "dam__tag", "clutch", "state", "note"
    place = "tub__rack__name", "tub__row", "tub__place"
    for row in models.Animal.objects.order_by("id").values_list(*columns, *place):
        key, tag, sex, name, hatched, genes, dam, clutch, state, note, rack, tub_row, tub_place = row
        tub = Tub(rack, tub_row, tub_place) if rack else None
        parents = tuple(sires.get(key, ())), dam or ""
        yield Animal(tag, Sex(sex), name, hatched, genes, *parents, clutch, tub, State(state), note)


def wishes() -> list[Wish]:
    """All wishes, in order."""
    return [Wish(*row) for row in models.Wish.objects.order_by("id").values_list("text", "weight", "count")]


def incubators() -> list[Incubator]:
    """All incubators, in order."""
    rows = models.Incubator.objects.order_by("id").values_list("tag", "places", "target_c")
    return [Incubator(*row) for row in rows]


class _Read(dict[str, T]):
    """Texts already read."""

    def __init__(self, read: Callable[[str], T]) -> None:
        super().__init__()
        self.read = read

    def __missing__(self, text: str) -> T:
        self[text] = found = self.read(text)
        return found


class _Said(dict[tuple[str, float | None, str | int], tuple[Kind, float | None, Detail]]):
    """What an entry says, by its kind, number and detail as stored; a whole number there is an animal."""

    def __init__(self, tags: dict[int | None, str]) -> None:
        super().__init__()
        self.tags = tags

    def __missing__(self, row: tuple[str, float | None, str | int]) -> tuple[Kind, float | None, Detail]:
        kind, value, detail = row
        what = Kind(kind)
        read = self.tags[detail] if isinstance(detail, int) else detail_of(what, detail)
        self[row] = said = (what, value, read)
        return said


def entries(where: str = "", values: list[Any] | None = None, voided: bool | None = False) -> list[Entry]:
    """Entries in the order they were noted; `voided`: not those taken back, only those, or (`None`) all.

    Cost: linear; each distinct day and each distinct thing said is parsed once.
    """
    conditions = [{False: KEPT, True: VOIDED, None: ""}[voided], where]
    said = " AND ".join(filter(None, conditions))
    condition = f"WHERE {said}" if said else ""
    columns, as_stored = (COLUMNS, None) if connection.vendor == "sqlite" else (TYPED_COLUMNS, _untyped)
    rows = _rows(f"SELECT {columns} FROM records_entry e {condition} ORDER BY e.seq", values)
    if as_stored:
        rows = [as_stored(*row) for row in rows]
    was_on = gc.isenabled()
    gc.disable()  # new tuples by the hundred thousand, none of them garbage
    try:
        return _values(rows)
    finally:
        if was_on:
            gc.enable()


# Few columns, and none that the driver would build an object for: each value fetched costs time. What few
# entries have (place, note, who) comes as one json text, and as nothing when all is empty.
COLUMNS = """
e.key, CAST(e.on_day AS text), e.at, e.animal_id, e.kind, e.value, COALESCE(e.other_id, e.detail),
CASE WHEN e.place = '' AND e.noted_by = '' AND e.note = '' THEN NULL
     ELSE json_array(e.place, e.noted_by, e.note) END
"""

# The same from a database whose columns have one type each: the other animal comes in a column of its own.
TYPED_COLUMNS = """
REPLACE(CAST(e.key AS text), '-', ''), CAST(e.on_day AS text), e.at, e.animal_id, e.kind, e.value, e.detail,
CASE WHEN e.place = '' AND e.noted_by = '' AND e.note = '' THEN NULL
     ELSE CAST(json_build_array(e.place, e.noted_by, e.note) AS text) END, e.other_id
"""


def _untyped(*row: Any) -> tuple[Any, ...]:
    """A row of the typed columns in the form of the others."""
    *first, detail, rare, other = row
    return (*first, detail if other is None else other, rare)


def _rows(query: str, values: list[Any] | None) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(query, values or [])
        rows: list[tuple[Any, ...]] = cursor.fetchall()
    return rows


def _values(rows: list[tuple[Any, ...]]) -> list[Entry]:
    tags: dict[int | None, str] = dict(models.Animal.objects.values_list("id", "tag"))
    said, found, make, new = _Said(tags), list[Entry](), tuple.__new__, Entry
    days, moments = _Read(date.fromisoformat), _Read(datetime.fromisoformat)
    for key, day, clock, animal, kind, value, detail, rare in rows:
        what, number, more = said[kind, value, detail]
        at = moments[clock] if clock else None
        if rare is None:
            found.append(make(new, (key, days[day], at, tags[animal], what, number, more, "", "")))
        else:
            place, by, note = json.loads(rare)
            found.append(Entry(key, days[day], at, tags.get(animal, place), what, number, more, by, note))
    return found


def key_in_database(key: UUID) -> Any:
    """A UUID as this database holds it."""
    return models.Entry.key.field.get_db_prep_value(key, connection)


def noted_at() -> dict[str, datetime]:
    """When each entry was noted, by its id."""
    return {key.hex: at for key, at in models.Entry.objects.values_list("key", "noted_at")}


def voided() -> list[tuple[Entry, str, datetime, str]]:
    """Entries taken back, each with who did so, when and why."""
    columns = "voided_by", "voided_at", "why"
    rows = models.Voiding.objects.order_by("entry__seq").values_list(*columns)
    return [(entry, *row) for entry, row in zip(entries(voided=True), rows, strict=True)]
