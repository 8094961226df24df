"""Whose season is forecast: females in the room that are fit to breed, or already in this season."""

from __future__ import annotations

from datetime import date

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.condition.readiness import not_ready
from eggtooth.engine.condition.weights import mass_on
from eggtooth.engine.entries import Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings

TELLING = (Kind.SCAN, Kind.OVULATION, Kind.PRELAY_SHED, Kind.LAID, Kind.PAIRED, Kind.LOCK)


def females_of(colony: Colony, on: date, settings: Settings) -> list[tuple[Animal, History]]:
    """Females to forecast on a day with what was noted of them by then, in the order of their tags."""
    known = colony.as_of(on)
    females = [(a, History(known.of_animal(a.tag), on)) for a in known.here(on) if a.sex is Sex.FEMALE]
    chosen = [(a, seen) for a, seen in females if in_season(a, seen, settings)]
    return sorted(chosen, key=lambda pair: pair[0].tag)


def in_season(animal: Animal, seen: History, settings: Settings) -> bool:
    """Whether a female's season is worth a forecast: something was noted of it, or she is fit to breed."""
    start = settings.season_start(seen.on)
    told = any(seen.last(kind, start) for kind in TELLING)
    return told or not not_ready(animal, seen, mass_on(seen), settings)
