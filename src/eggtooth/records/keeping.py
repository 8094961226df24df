"""Entries into the store. Each is checked as a line of a log would be; all are added in one go."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from itertools import islice
from typing import Any
from uuid import UUID

from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from eggtooth.engine.entries import WITH_PARTNER, Detail, Entry, Kind, detail_text
from eggtooth.engine.wording import say
from eggtooth.records import models
from eggtooth.records.files.details import MEASURES, detail_of
from eggtooth.records.files.fields import LONGEST_BY, LONGEST_NOTE, LONGEST_TAG, words_of
from eggtooth.records.files.refusal import Wrong, nearest
from eggtooth.records.loading import key_in_database
from eggtooth.records.upkeep import in_turn

FEW = 400
AT_ONCE = 5000
HEX_DIGITS = "0123456789abcdef"
COLUMNS = (
    "key", "on_day", "at", "animal_id", "place", "kind", "value", "detail", "other_id",
    "noted_by", "noted_at", "note",
)  # fmt: skip
# Not `INSERT OR IGNORE`, which would also pass over rows that break a constraint.
INSERT = (
    f"INSERT INTO records_entry ({', '.join(COLUMNS)}) VALUES ({', '.join(['%s'] * len(COLUMNS))}) "
    "ON CONFLICT (key) DO NOTHING"
)


def add_entries(
    entries: Iterable[Entry], noted_at: Mapping[str, datetime], tell: Callable[[int], None] | None = None
) -> int:
    """Keep entries; returns how many are new. Raises `ValueError` and keeps none when one cannot be.

    `tell` hears now and then how many have gone in.
    """
    entries = list(entries)
    made, gone_in, new = _Rows(entries, noted_at).of(entries), 0, 0
    try:
        with in_turn(), transaction.atomic(), connection.cursor() as cursor:
            # A part at a time: all at once would fill the memory, and a row that is refused asks the database
            # for the nearest tag, which it cannot answer while rows are going in.
            while rows := list(islice(made, AT_ONCE)):
                cursor.executemany(INSERT, rows)
                new += max(int(cursor.rowcount), 0)  # those that met their like are not counted
                gone_in += len(rows)
                if tell:
                    tell(gone_in)
    except IntegrityError as broken:
        raise ValueError(f"an entry cannot be kept: {broken}") from broken
    return new


class _Rows:
    """Entries as rows of the table."""

    def __init__(self, entries: list[Entry], noted_at: Mapping[str, datetime]) -> None:
        self.ids = _ids(entries)
        self.noted_at, self.now = noted_at, timezone.now()
        self.texts: dict[tuple[Kind, float | None, Detail], str] = {}
        self.moment_value = models.Entry.noted_at.field.get_db_prep_value
        self.hex_keys = not connection.features.has_native_uuid_field
        self.moments: dict[datetime, Any] = {}

    def of(self, entries: Iterable[Entry]) -> Iterator[tuple[Any, ...]]:
        """One row for each entry. Raises `ValueError`."""
        for entry in entries:
            kind, detail = entry.kind, self.text(entry.kind, entry.value, entry.detail)
            animal = self.ids.get(entry.tag)
            if animal is None and kind is not Kind.TEMPERATURE:
                raise self.unknown("tag", entry.tag)
            other = self.other(entry, detail) if kind in WITH_PARTNER else None
            yield (
                self.key(entry.id),
                entry.on.isoformat(),
                entry.at.isoformat() if entry.at else "",
                animal,
                words_of("tag", entry.tag, LONGEST_TAG) if animal is None else "",
                kind.value,
                entry.value,
                "" if other is not None else detail,
                other,
                words_of("noted by", entry.by, LONGEST_BY) if entry.by else "",
                self.moment(self.noted_at.get(entry.id, self.now)),
                words_of("note", entry.note, LONGEST_NOTE, lines=True) if entry.note else "",
            )

    def text(self, kind: Kind, value: float | None, detail: Detail) -> str:
        """The detail as written in the log, once it and the number are known to be right."""
        said = (kind, value, detail)
        if said not in self.texts:
            _check_value(kind, value)
            words = detail_text(detail, kind).strip()
            self.texts[said] = detail_text(detail_of(kind, words), kind).strip()
        return self.texts[said]

    def other(self, entry: Entry, tag: str) -> int:
        """The other animal of a pairing."""
        if tag == entry.tag:
            raise Wrong(
                "detail", tag, say("is the animal itself; {kind} needs the other animal", kind=entry.kind)
            )
        if tag not in self.ids:
            raise self.unknown("detail", tag)
        return self.ids[tag]

    def unknown(self, column: str, tag: str) -> Wrong:
        """An animal nobody knows."""
        everyone = models.Animal.objects.values_list("tag", flat=True)
        return Wrong(column, tag, say("is not an animal here"), "", nearest(tag, everyone))

    def key(self, text: str) -> Any:
        """An entry's id as this database holds it. Raises `Wrong` when it is no UUID."""
        if self.hex_keys and len(text) == 32 and not text.strip(HEX_DIGITS):
            return text
        try:
            return key_in_database(UUID(text))
        except ValueError:
            raise Wrong("entry id", text, say("is not a UUID")) from None

    def moment(self, at: datetime) -> Any:
        """When it was noted, as the database holds it."""
        if at not in self.moments:
            self.moments[at] = self.moment_value(at, connection)
        return self.moments[at]


def _ids(entries: list[Entry]) -> dict[str, int]:
    """Numbers by tag: of all animals, or of those a few entries speak of."""
    everyone = models.Animal.objects.values_list("tag", "id")
    if len(entries) > FEW:
        return dict(everyone)
    return dict(everyone.filter(tag__in={t for e in entries for t in (e.tag, e.partner.strip())}))


def _check_value(kind: Kind, value: float | None) -> None:
    measure = MEASURES.get(kind)
    if measure is None and value is not None:
        raise Wrong("value", f"{value:g}", say("stands in value, but {kind} has no value", kind=kind))
    if measure is not None:
        measure.read("value", "" if value is None else repr(value))


def void(key: UUID, by: str, why: str, when: datetime | None) -> None:
    """Take an entry back. Raises `ValueError` when there is no such entry."""
    said = {
        "voided_by": words_of("by", by, LONGEST_BY),
        "why": words_of("why", why, LONGEST_NOTE, lines=True),
    }
    with in_turn(), transaction.atomic():
        entry = models.Entry.objects.filter(key=key).first()
        if entry is None:
            raise ValueError(f"there is no entry {key}")
        models.Voiding.objects.get_or_create(
            entry=entry, defaults=said | ({"voided_at": when} if when else {})
        )
