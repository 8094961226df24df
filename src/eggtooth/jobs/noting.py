"""Keeping what a hand noted, and voiding it again."""

from __future__ import annotations

from datetime import date, datetime
from urllib.parse import unquote
from uuid import UUID

from eggtooth.engine.colony import Colony, tub_from
from eggtooth.engine.entries import WITH_PARTNER, Detail, Entry, Kind
from eggtooth.engine.planning.warmed import no_incubator
from eggtooth.engine.wording import say
from eggtooth.records import store
from eggtooth.records.files.details import detail_of, kind_of, value_of
from eggtooth.records.files.fields import LEEWAY, believable
from eggtooth.records.files.refusal import Wrong, nearest


def noted_on(day: date, today: date) -> date:
    """The day itself where a log may hold it: what is to come is not noted. Raises `ValueError`."""
    return believable("date", day.isoformat(), day, today + LEEWAY)


def note(key: UUID, on: date, tag: str, kind: Kind, value: float | None, detail: Detail, by: str) -> str:
    """Keep one entry under the id the page made; returns the id. Sending it twice keeps it once.

    Raises `ValueError` when the animal, or the other one, is not known here.
    """
    entry = Entry(str(key), on, None, tag, kind, value, detail or None, by)
    store.add_entries([entry])
    return entry.id


def note_as_written(
    colony: Colony, key: UUID, on: date, tag: str, words: tuple[str, str, str], by: str
) -> Entry:
    """Keep an entry typed as kind, value and detail, read as a line of a log is. Raises `ValueError`.

    Tags are taken whatever their case and spaces, as long as that names one animal, and as a label says them.
    """
    kind = kind_of(words[0])
    tag, detail = known_tag(colony, "tag", on_label(colony, tag, on)), detail_of(kind, words[2])
    if kind in WITH_PARTNER and isinstance(detail, str):
        detail = known_tag(colony, "detail", on_label(colony, detail, on))
    entry = Entry(str(key), on, None, tag, kind, value_of(kind, words[1]), detail, by)
    if box := no_incubator(entry, colony.incubators):
        known = say("incubators here: {tags}", tags=", ".join(colony.incubators))
        raise Wrong("detail", box, say("is no incubator here"), known, nearest(box, colony.incubators))
    store.add_entries([entry])
    return entry


def note_temperature(
    colony: Colony, key: UUID, on: date, at: datetime | None, place: str, celsius: float, by: str
) -> str:
    """Keep a temperature of an incubator or a rack. Raises `ValueError` when there is no such place."""
    racks = {a.tub.rack for a in colony.animals.values() if a.tub}
    if place not in colony.incubators and place not in racks:
        raise Wrong(
            "place",
            place,
            say("is no incubator and no rack here"),
            "",
            nearest(place, [*colony.incubators, *racks]),
        )
    value = value_of(Kind.TEMPERATURE, repr(float(celsius)))
    store.add_entries([Entry(str(key), on, at, place, Kind.TEMPERATURE, value, None, by)])
    return key.hex


def known_tag(colony: Colony, column: str, text: str) -> str:
    """The animal a hurried hand means: the tag itself, or the only one that differs in case or spaces."""
    tag = text.strip()
    if tag in colony.animals:
        return tag
    alike = [t for t in colony.animals if _plain(t) == _plain(tag)]
    if len(alike) == 1:
        return alike[0]
    raise Wrong(column, tag, say("is not an animal here"), "", nearest(tag, colony.animals))


def on_label(colony: Colony, text: str, on: date) -> str:
    """What a hand scanner types that reads a tub's label, or a tub's name: the one animal whose tub it is on
    that day. Any other text comes back as it was. Raises `ValueError` for a tub of nobody or of several.
    """
    words = text.strip()
    if words in colony.animals:
        return words
    _, sign, name = words.partition("/tub/")
    try:
        tub = tub_from(unquote(name) if sign else words)
    except ValueError:
        return text
    mine = [a.tag for a in colony.here(on) if colony.tub_of(a.tag, on) == tub]
    if len(mine) == 1:
        return mine[0]
    if not (sign or mine):
        return text
    both = say("holds {tags}", tags=", ".join(sorted(mine)))
    several = both if mine else say("is nobody's tub")
    raise Wrong("tag", str(tub), several, say("type the animal's tag"))


def _plain(tag: str) -> str:
    return "".join(tag.split()).replace("-", "").casefold()


def undo(key: UUID, by: str) -> None:
    """Void an entry. Raises `ValueError` when there is no such entry."""
    store.void(key, by=by, why="undone")


def kept(key: str) -> Entry | None:
    """The entry with this id if it is kept and not voided; `None` for anything else."""
    try:
        return store.entry(UUID(key))
    except ValueError:
        return None
