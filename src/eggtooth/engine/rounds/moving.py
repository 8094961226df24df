"""Lines for the moves of the day, males to rest, and the nights' temperature."""

from __future__ import annotations

from collections.abc import Iterator

from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.entries import Kind
from eggtooth.engine.house import Settings, latest
from eggtooth.engine.planning.nights import Action
from eggtooth.engine.planning.occupants import Occupant
from eggtooth.engine.rounds.task import Scene, Task, Todo, Urgency, task_for
from eggtooth.engine.wording import say

SHOWN_DAYS = 14
COOLEST_C = 22.0  # a night is never cooler (common practice, no source)
"""A change of the nights stands in the round this long, so that one missed day does not lose it."""


def moving_lines(scene: Scene) -> Iterator[Task]:
    """Each move at the female's tub, where the hands are; a male past his limit under his own."""
    room, moves, settings = scene.room, scene.moves, scene.settings
    for move in moves:
        female = room[move.female]
        urgency = Urgency.NOW if move.action is Action.CHECK else Urgency.TODAY
        todo = Todo(move.action.value)
        yield Task(todo, move.male, move.female, female.tub, move.why, move.entries, urgency)
    for occupant in room.values():
        if (wear := occupant.wear) and wear.state is WearState.REST and _breeding(occupant, settings):
            yield task_for(occupant, Todo.REST_MALE, wear.why, wear.entries, Urgency.NOW)


def _breeding(occupant: Occupant, settings: Settings) -> bool:
    start = settings.season_start(occupant.seen.on)
    return bool(occupant.seen.last(Kind.PAIRED, start) or occupant.seen.last(Kind.LOCK, start))


def climate_lines(scene: Scene) -> Iterator[Task]:
    """The start and the end of the cooler nights."""
    room, on, settings = scene.room, scene.on, scene.settings
    if not room:
        return
    cooled, warmed = latest(settings.cool_from, on), latest(settings.warm_from, on)
    drop, least = settings.warmer(settings.night_drop_c), settings.warmth(COOLEST_C)
    if (on - cooled).days < SHOWN_DAYS:
        why = say(
            "{drop} cooler at night from mid or late November (common practice); never below {least}",
            drop=drop,
            least=least,
        )
        yield Task(Todo.COOL_NIGHTS, "", "", None, why, ())
    if (on - warmed).days < SHOWN_DAYS:
        why = say("back to the usual nights, a little at a time (common practice)")
        yield Task(Todo.WARM_NIGHTS, "", "", None, why, ())
