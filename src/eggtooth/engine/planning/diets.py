"""How each animal in the room is fed at this time of the year."""

from __future__ import annotations

from datetime import date

from eggtooth.engine.colony import Sex
from eggtooth.engine.condition.meals import Diet, diet_of
from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.cycle.season import Stage
from eggtooth.engine.entries import Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.occupants import Occupant


def diet_now(occupant: Occupant, on: date, settings: Settings) -> Diet:
    """The diet of an animal: breeding females and males have their own while the season is open."""
    male = occupant.animal.sex is Sex.MALE
    start = settings.season_start(on)
    bred = occupant.seen.last(Kind.PAIRED, start) or occupant.seen.last(Kind.LOCK, start)
    resting = occupant.wear is not None and occupant.wear.state is WearState.RESTING
    before_eggs = not (occupant.season and occupant.season.stage is Stage.LAID)
    in_season = settings.season_open(on) and before_eggs and not resting
    female = occupant.animal.sex is Sex.FEMALE and not occupant.unready and occupant.mass is not None
    breeding = in_season and occupant.animal.sex is not Sex.UNKNOWN and (bool(bred) or female)
    return diet_of(occupant.mass, occupant.animal.age_days(on), breeding, male)
