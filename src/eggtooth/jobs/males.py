"""Every male's condition for drawing, those that need a look first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.condition.weights import Mass, mass_on
from eggtooth.engine.entries import Entry
from eggtooth.engine.history import History
from eggtooth.engine.kept import Kept
from eggtooth.jobs.body import Nights, nights_of
from eggtooth.jobs.gather import Source

WORST_FIRST = (WearState.REST, WearState.WATCH, WearState.FIT, WearState.RESTING)


@dataclass(frozen=True, slots=True)
class Male:
    """One male: where he sits, his nights and wear, his mass and his last meal."""

    animal: Animal
    tub: Tub | None
    season: Nights
    mass: Mass | None
    eaten: Entry | None

    @property
    def out(self) -> bool:
        """Whether he was with a female this season."""
        return bool(self.season.wear.asks or self.season.nights or self.season.locks)


def males_on(source: Source, on: date, kept: Kept | None = None) -> list[Male]:
    """Every male in the room: who must rest first, then who is near it; those not out this season last.

    `kept` as for `round_for`.
    """
    colony = source.colony
    males = [a for a in colony.here(on) if a.sex is Sex.MALE and not (a.hatched and a.hatched > on)]
    rests_on = {a.tag: (a, colony.of_animal(a.tag)) for a in males}
    found = (kept or Kept()).each(
        "male", rests_on, lambda tags: [_male(source, colony.animals[t], on) for t in tags]
    )
    return sorted(found, key=_worst_first)


def _male(source: Source, animal: Animal, on: date) -> Male:
    seen = History(source.colony.of_animal(animal.tag), on)
    tub = source.colony.tub_of(animal.tag, on)
    return Male(animal, tub, nights_of(seen, source.settings), mass_on(seen), seen.last_meal())


def _worst_first(male: Male) -> tuple[int, bool, date, str]:
    wear = male.season.wear
    by = wear.rest_by if male.out else None
    return WORST_FIRST.index(wear.state), not male.out, by[1] if by else date.max, male.animal.tag
