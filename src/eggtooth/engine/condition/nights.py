"""The nights a male spent with a female, from the entries that opened and ended each sitting."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import NamedTuple

from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History

LONGEST_SITTING_DAYS = 14
"""A sitting noted as longer was not noted as ended (our choice)."""

USUAL_HOUR = {Kind.LOCK: time(8), Kind.PARTED: time(9), Kind.PAIRED: time(20)}
"""The hour an undated-by-the-clock entry is taken to be of: looked in the morning, moved in the evening."""


class Night(NamedTuple):
    """The night that begins on the evening of `on`, and the female he sat with."""

    on: date
    female: str


def moment(entry: Entry) -> tuple[date, time]:
    """When an entry happened, by its own clock or the usual hour of its kind."""
    at = entry.at
    return entry.on, at.time() if isinstance(at, datetime) else USUAL_HOUR.get(entry.kind, time(12))


def night_of(entry: Entry) -> date:
    """The night a sighting belongs to, by its evening: what is seen before noon is of the night before."""
    on, at = moment(entry)
    return on - timedelta(days=1) if at < time(12) else on


def nights_in(male: History, since: date) -> list[Night]:
    """Nights with a female from `since` to the eve of the history's day, oldest first.

    A sitting lasts until the two were parted or he was put elsewhere.
    """
    found: list[Night] = []
    opened: Entry | None = None
    turns = (*male.all(Kind.PAIRED, since), *male.all(Kind.PARTED, since))
    for entry in sorted(turns, key=moment):
        if entry.kind is Kind.PAIRED:
            found += _sitting(opened, entry.on)
            opened = entry
        elif opened and entry.partner in ("", opened.partner):
            found += _sitting(opened, entry.on)
            opened = None
    return found + _sitting(opened, male.on)


def _sitting(opened: Entry | None, until: date) -> list[Night]:
    if opened is None:
        return []
    days = min(LONGEST_SITTING_DAYS, opened.since(until))
    return [Night(opened.on + timedelta(days=n), opened.partner) for n in range(days)]
