"""Values out of the store. Entries come as raw rows, without a model object each: a large house has many."""

from __future__ import annotations

import gc
import json
from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Sequence
from datetime import date, datetime
from typing import Any, NamedTuple, TypeVar
from uuid import UUID

from django.db import connection

from eggtooth.engine.colony import Animal, Sex, State, Tub
from eggtooth.engine.entries import Detail, Entry, Kind
from eggtooth.records import models
from eggtooth.records.files.details import detail_of

T = TypeVar("T")
BATCH = 500
KEPT = "NOT EXISTS (SELECT 1 FROM records_voiding v WHERE v.entry_id = e.seq)"
VOIDED = "EXISTS (SELECT 1 FROM records_voiding v WHERE v.entry_id = e.seq)"


class Arranged(NamedTuple):
    """The rows of what may change in any way: animals, candidate sires, wishes, incubators."""

    animals: list[tuple[Any, ...]]
    sires: list[tuple[Any, ...]]
    wishes: list[tuple[Any, ...]]
    incubators: list[tuple[Any, ...]]

    def tags(self) -> dict[int | None, str]:
        """Tags by the number the tables use for an animal."""
        return {row[0]: row[1] for row in self.animals}


# Days as text: the driver would build an object for each.
ARRANGED = (
    "SELECT a.id, a.tag, a.sex, a.name, CAST(a.hatched AS text), a.genes, a.dam_id, a.clutch, a.state, "
    "a.note, r.name, t.row, t.place FROM records_animal a LEFT JOIN records_tub t ON t.id = a.tub_id "
    "LEFT JOIN records_rack r ON r.id = t.rack_id ORDER BY a.id",
    "SELECT child_id, sire_id FROM records_sire ORDER BY child_id, rank",
    "SELECT text, weight, count FROM records_wish ORDER BY id",
    "SELECT tag, places, target_c FROM records_incubator ORDER BY id",
)


def arranged() -> Arranged:
    """What is arranged now, as rows to compare and to build values from."""
    return Arranged(*(_rows(query, None) for query in ARRANGED))


def animals(found: Arranged) -> Iterator[Animal]:
    """All animals, in the order they were first kept."""
    tags, sires = found.tags(), defaultdict[int, list[str]](list)
    for child, sire in found.sires:
        sires[child].append(tags[sire])
    for key, tag, sex, name, hatched, genes, dam, clutch, state, note, *place in found.animals:
        tub = Tub(*place) if place[0] else None
        born = date.fromisoformat(hatched) if hatched else None
        parents = tuple(sires.get(key, ())), tags[dam] if dam else ""
        yield Animal(tag, Sex(sex), name, born, genes, *parents, clutch, tub, State(state), note)


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
    return list(_each_row(query, values))


def _each_row(query: str, values: list[Any] | None) -> Iterator[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(query, values or [])
        yield from cursor


def _values(rows: list[tuple[Any, ...]]) -> list[Entry]:
    tags = _tags(rows)
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


def _tags(rows: list[tuple[Any, ...]]) -> dict[int | None, str]:
    """Tags by number: of all animals, or of those a few rows speak of."""
    everyone = models.Animal.objects.values_list("id", "tag")
    if len(rows) > BATCH:
        return dict(everyone)
    return dict(everyone.filter(id__in={n for row in rows for n in (row[3], row[6]) if isinstance(n, int)}))


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


# The last entry read before (if it is still there), those above the floor, and how many are taken back.
HOW_FAR = """
SELECT seq, key, (SELECT COUNT(*) FROM records_voiding) FROM records_entry
WHERE seq >= %s ORDER BY seq
"""


class Far(NamedTuple):
    """How far a store has come: the id of the last entry read before, the numbers above the floor, number and
    id of the last, the count of those taken back."""

    before: Any
    numbers: frozenset[int]
    last: tuple[int, Any]
    voided: int


def how_far(before: int, floor: int) -> Far:
    """What there is from the entry numbered `before` on, and above the `floor`."""
    rows = _rows(HOW_FAR, [min(before, floor)])
    if not rows:
        return Far(None, frozenset(), (0, None), 0)
    key = next((row[1] for row in rows if row[0] == before), None)
    return Far(key, frozenset(row[0] for row in rows if row[0] > floor), rows[-1][:2], rows[-1][2])


def last() -> tuple[int, Any]:
    """Number and id of the highest entry; 0 and nothing before there is one."""
    rows = _rows("SELECT seq, key FROM records_entry ORDER BY seq DESC LIMIT 1", None)
    return rows[0] if rows else (0, None)


def numbers_above(floor: int) -> frozenset[int]:
    """The numbers of the entries above one."""
    return frozenset(row[0] for row in _rows("SELECT seq FROM records_entry WHERE seq > %s", [floor]))


def voided_numbers() -> frozenset[int]:
    """The numbers of the entries taken back."""
    return frozenset(row[0] for row in _rows("SELECT entry_id FROM records_voiding", None))


def spoken_of(new: Collection[int], floor: int, numbers: Sequence[int]) -> tuple[set[int], set[str]]:
    """The animals, by their numbers, and places that the `new` entries above a floor, and those of these
    `numbers`, name."""
    above = "SELECT seq, animal_id, other_id, place FROM records_entry WHERE seq > %s"
    rows = [row[1:] for row in _rows(above, [floor]) if row[0] in new] if new else []
    for at in range(0, len(numbers), BATCH):
        some = numbers[at : at + BATCH]
        marks = ", ".join(["%s"] * len(some))
        rows += _rows(f"SELECT animal_id, other_id, place FROM records_entry WHERE seq IN ({marks})", [*some])
    return {n for row in rows for n in row[:2] if n is not None}, {row[2] for row in rows if row[2]}


def entries_about(animals: Collection[int], places: Collection[str]) -> list[Entry]:
    """Entries of some animals (under either name of a pairing) and places, in the order they were noted."""
    # PostgreSQL takes no empty list; nothing is equal to NULL.
    one, place = (", ".join(["%s"] * len(some)) or "NULL" for some in (animals, places))
    # Three ways by index, joined by number: with a plain OR the whole table would be gone through. The index
    # of partners is used only where its own condition is said again, word for word.
    where = (
        f"e.seq IN (SELECT seq FROM records_entry WHERE animal_id IN ({one}) UNION "
        f'SELECT seq FROM records_entry WHERE other_id IN ({one}) AND NOT ("other_id" IS NULL) UNION '
        f"SELECT seq FROM records_entry WHERE animal_id IS NULL AND place IN ({place}))"
    )
    return entries(where, [*animals, *animals, *places])
