"""Finding entries in a long log: the database counts them and gives the latest, nothing else is read."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db import connection

from eggtooth.engine.entries import Entry, Kind
from eggtooth.records import loading, models
from eggtooth.records.store import Sought, Voided

OF_ONE = """
e.seq IN (SELECT seq FROM records_entry WHERE animal_id = (SELECT id FROM records_animal WHERE tag = %s) UNION
SELECT seq FROM records_entry WHERE NOT ("other_id" IS NULL)
AND other_id = (SELECT id FROM records_animal WHERE tag = %s))
"""


def latest(
    tag: str, kind: Kind | None, since: date | None, until: date | None, most: int
) -> tuple[list[Sought], int]:
    """The latest entries of those looked for, newest day first, and how many there are in all."""
    asked: list[tuple[str, list[Any]]] = [
        (OF_ONE, [tag, tag] if tag else []),
        ("e.kind = %s", [kind.value] if kind else []),
        ("e.on_day >= %s", [since.isoformat()] if since else []),
        ("e.on_day <= %s", [until.isoformat()] if until else []),
    ]
    where = " AND ".join(words for words, values in asked if values) or "TRUE"
    return _latest(where, [v for _, values in asked for v in values], most)


def _latest(where: str, values: list[Any], most: int) -> tuple[list[Sought], int]:
    order = "ORDER BY e.on_day DESC, e.at DESC, e.seq DESC LIMIT %s"
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT COUNT(*) FROM records_entry e WHERE {where}", values)
        count = int(cursor.fetchone()[0])
        cursor.execute(f"SELECT e.seq FROM records_entry e WHERE {where} {order}", [*values, most])
        numbers = [row[0] for row in cursor.fetchall()]
    told = _told(numbers)
    return [told[n] for n in numbers], count


def _told(numbers: list[int]) -> dict[int, Sought]:
    if not numbers:
        return {}
    marks = ", ".join(["%s"] * len(numbers))
    entries = {e.id: e for e in loading.entries(f"e.seq IN ({marks})", [*numbers], voided=None)}
    kept = models.Entry.objects.filter(seq__in=numbers).values_list("seq", "key", "noted_at")
    taken = models.Voiding.objects.filter(entry__in=numbers)
    voided = {v.pk: (v.voided_by, v.voided_at, v.why) for v in taken}
    return {seq: _sought(entries[key.hex], at, voided.get(seq)) for seq, key, at in kept}


def _sought(entry: Entry, noted_at: Any, voided: tuple[Any, ...] | None) -> Sought:
    return Sought(entry, noted_at, Voided(entry, *voided) if voided else None)
