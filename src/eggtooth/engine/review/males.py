"""Rest-by dates of breeding males against the day each was rested, and how their seasons ended."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.condition.endurance import rest_span
from eggtooth.engine.condition.wear import wear_of
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings, latest
from eggtooth.engine.review.dates import EVERY_DAYS, Told, first_of
from eggtooth.engine.spans import LEVELS, Span

CLOSING_DAYS = 7
"""A male rested within this many days of the season's close was not rested for his own sake (our choice)."""


@dataclass(frozen=True, slots=True)
class Males:
    """How the breeding males' seasons ended: tags, each male once.

    `rested` for their own sake; `with_season` when it closed, or not yet; `past` were rested after the 95 %
    date told last; `died` while breeding, that is not rested before.
    """

    rested: tuple[str, ...] = ()
    with_season: tuple[str, ...] = ()
    past: tuple[str, ...] = ()
    died: tuple[str, ...] = ()


def males_of(colony: Colony, start: date, end: date, settings: Settings) -> tuple[list[Told], Males]:
    """Every rest-by date told every two weeks, and how the males' seasons ended.

    The day a male had to rest is never seen, only the day he was rested; one rested as the season closed, or
    that died, has no such day and his dates are not scored.
    """
    told: list[Told] = []
    ended: dict[str, list[str]] = {"rested": [], "with_season": [], "past": [], "died": []}
    for animal in colony.animals.values():
        entries = colony.of_animal(animal.tag)
        first = first_of(entries, Kind.PAIRED, start, end) if animal.sex is Sex.MALE else None
        if first is None:
            continue
        rested = first_of(entries, Kind.RESTED, first.on, end)
        died = first_of(entries, Kind.DIED, first.on, end)
        if rested is None or _closing(rested.on, settings) or (died and died.on < rested.on):
            ended["died" if died and not (rested and rested.on < died.on) else "with_season"].append(
                animal.tag
            )
            continue
        his = _told(animal.tag, entries, first, rested, settings)
        told += his
        ended["rested"].append(animal.tag)
        if his and rested.on > his[-1].span.q95:
            ended["past"].append(animal.tag)
    return told, Males(**{k: tuple(v) for k, v in ended.items()})


def _closing(day: date, settings: Settings) -> bool:
    closed = latest(settings.season_closes, day)
    return not settings.season_open(day + timedelta(days=CLOSING_DAYS)) or (day - closed).days <= CLOSING_DAYS


def _told(
    tag: str, entries: tuple[Entry, ...], first: Entry, rested: Entry, settings: Settings
) -> list[Told]:
    told = []
    day = first.on
    while day < rested.on:
        if asks := wear_of(History(entries, day), settings).asks:
            told.append(Told(tag, Kind.RESTED, day, Span(*rest_span(asks, LEVELS)), rested))
        day += timedelta(days=EVERY_DAYS)
    return told
