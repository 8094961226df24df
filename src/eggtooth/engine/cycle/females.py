"""Whose season is forecast: females in the room that are fit to breed, or already in this season."""

from __future__ import annotations

from datetime import date

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.condition.readiness import not_ready
from eggtooth.engine.condition.weights import mass_on
from eggtooth.engine.entries import Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept

TELLING = (Kind.SCAN, Kind.OVULATION, Kind.PRELAY_SHED, Kind.LAID, Kind.PAIRED, Kind.LOCK)


def females_of(
    colony: Colony, on: date, settings: Settings, kept: Kept | None = None
) -> list[tuple[Animal, History]]:
    """Females to forecast on a day with what was noted of them by then, in the order of their tags.

    `kept` holds who was looked at before with this day and these settings.
    """
    here = {a.tag: a for a in colony.here(on) if a.sex is Sex.FEMALE and not (a.hatched and a.hatched > on)}
    rests_on = {tag: (here[tag], colony.of_animal(tag)) for tag in sorted(here)}

    def looked_at(tags: list[str]) -> list[History | None]:
        found = [History(colony.of_animal(tag), on) for tag in tags]
        return [s if in_season(here[t], s, settings) else None for t, s in zip(tags, found, strict=True)]

    found = (kept or Kept()).each("in season", rests_on, looked_at)
    return [(here[tag], seen) for tag, seen in zip(rests_on, found, strict=True) if seen is not None]


def in_season(animal: Animal, seen: History, settings: Settings) -> bool:
    """Whether a female's season is worth a forecast: something was noted of it, or she is fit to breed."""
    start = settings.season_start(seen.on)
    told = any(seen.last(kind, start) for kind in TELLING)
    return told or not not_ready(animal, seen, mass_on(seen), settings)
