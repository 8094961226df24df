"""The room on one day: every animal that is here with what is known of it, and who sits with whom."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from eggtooth.engine.colony import Animal, Colony, Sex, Tub
from eggtooth.engine.condition.nights import moment
from eggtooth.engine.condition.readiness import in_quarantine, not_ready
from eggtooth.engine.condition.wear import Wear, wear_of
from eggtooth.engine.condition.weights import Mass, mass_on
from eggtooth.engine.cycle.dated import seasons_of
from eggtooth.engine.cycle.season import Season
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept


@dataclass(frozen=True, slots=True)
class Occupant:
    """One animal in the room with its entries, tub, mass and, by sex, its season or its wear."""

    animal: Animal
    seen: History
    tub: Tub | None
    mass: Mass | None
    quarantine: str
    unready: str
    season: Season | None
    wear: Wear | None

    @property
    def tag(self) -> str:
        """The animal's tag."""
        return self.animal.tag


@dataclass(frozen=True, slots=True)
class Sitting:
    """A male in a female's tub: since when, and the locks seen in this sitting."""

    male: str
    female: str
    since: Entry
    locks: tuple[Entry, ...]

    def locked_on(self, day: date) -> Entry | None:
        """The latest lock seen on a day in this sitting."""
        return next((e for e in reversed(self.locks) if e.on == day), None)


MOST_IN_A_SITTING = 30
"""Entries of one kind looked back on: no sitting has more locks, and older ones decide nothing."""

Room = Mapping[str, Occupant]


def room_on(
    colony: Colony,
    on: date,
    settings: Settings,
    all_dates: bool = True,
    kept: Kept | None = None,
    males: bool = True,
) -> dict[str, Occupant]:
    """Everyone in the room on a day, by tag, in walking order of the tubs (animals without a tub last).

    `all_dates` as for `seasons_of`; `kept` holds who was looked at before with this day and these settings.
    Without `males` they are left out, and their wear is not worked out.
    """
    here = {a.tag: a for a in colony.here(on) if a.hatched is None or a.hatched <= on}
    if not males:
        here = {tag: a for tag, a in here.items() if a.sex is not Sex.MALE}
    kept = kept or Kept()
    seasons = _seasons(
        colony, [a for a in here.values() if a.sex is Sex.FEMALE], on, settings, all_dates, kept
    )
    rests_on = {tag: (animal, colony.of_animal(tag), seasons.get(tag)) for tag, animal in here.items()}

    def looked_at(tags: list[str]) -> list[Occupant]:
        seen = {tag: History(colony.of_animal(tag), on) for tag in tags}
        return [_occupant(colony, here[tag], seen[tag], seasons.get(tag), settings) for tag in tags]

    found = kept.each(f"occupant {all_dates}", rests_on, looked_at)
    found.sort(key=lambda o: (o.tub is None, o.tub or ("", 0, 0), o.tag))
    return {o.tag: o for o in found}


def _seasons(
    colony: Colony, females: Sequence[Animal], on: date, settings: Settings, all_dates: bool, kept: Kept
) -> dict[str, Season]:
    """The females' seasons. One that comes out the same is the same object, though others teach her."""
    noted = {a.tag: colony.of_animal(a.tag) for a in females}

    def worked_out() -> dict[str, Season]:
        return seasons_of(noted, on, settings, all_dates, kept)

    found = kept.get(f"seasons {all_dates}", (*females, *noted.values()), worked_out)
    return {
        tag: kept.equal(("season", all_dates, tag), (season,), lambda s=season: s)  # type: ignore[misc]
        for tag, season in found.items()
    }


def _occupant(
    colony: Colony, animal: Animal, seen: History, season: Season | None, settings: Settings
) -> Occupant:
    tub, mass = colony.tub_of(animal.tag, seen.on), mass_on(seen)
    wear = wear_of(seen, settings) if animal.sex is Sex.MALE else None
    quarantine = in_quarantine(animal, tub, seen, settings)
    return Occupant(
        animal, seen, tub, mass, quarantine, not_ready(animal, seen, mass, settings), season, wear
    )


def sitting_of(male: Occupant, settings: Settings) -> Sitting | None:
    """Whom a male sits with, from this breeding year's pairing entries; a lock alone also means together."""
    start = settings.season_start(male.seen.on)
    kinds = (Kind.LOCK, Kind.PARTED, Kind.PAIRED)
    now: Sitting | None = None
    latest = (e for k in kinds for e in male.seen.all(k, start)[-MOST_IN_A_SITTING:])
    for entry in sorted(latest, key=moment):
        now = _after(now, male.tag, entry)
    return now


def _after(now: Sitting | None, male: str, entry: Entry) -> Sitting | None:
    same = now is not None and now.female == entry.partner
    if entry.kind is Kind.PARTED:
        return None if same or not entry.partner else now
    locks = (entry,) if entry.kind is Kind.LOCK else ()
    if now is not None and same:
        return Sitting(male, now.female, now.since, now.locks + locks)
    return Sitting(male, entry.partner, entry, locks)


def sittings(room: Room, settings: Settings, kept: Kept | None = None) -> dict[str, Sitting]:
    """Who sits with whom, by male. A female found with two males stands under both; `doubts` names it."""
    males = {t: (o,) for t, o in room.items() if o.animal.sex is Sex.MALE}
    found = (kept or Kept()).each(
        "sitting", males, lambda tags: [sitting_of(room[t], settings) for t in tags]
    )
    return {t: s for t, s in zip(males, found, strict=True) if s is not None and s.female in room}
