"""Who is fed today and how much, and who is not though a meal is due."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from eggtooth.engine.condition.meals import Diet, Meal, meal_due
from eggtooth.engine.cycle.season import Stage
from eggtooth.engine.entries import Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.diets import diet_now
from eggtooth.engine.planning.nights import Action, Move
from eggtooth.engine.planning.occupants import Occupant, Room
from eggtooth.engine.rounds.task import Scene, Task, Todo, Urgency, task_for
from eggtooth.engine.spans import ago
from eggtooth.engine.wording import joined, say

AFTER_LAYING_DAYS = 7
WEEKEND_AFTER_DAYS = 5


def feeding_lines(scene: Scene) -> Iterator[Task]:
    """A line for each meal due today; hatchlings before their first meal have lines of their own."""
    room, moves, on, settings = scene.room, scene.moves, scene.on, scene.settings
    together = _together_tonight(room, moves)

    def due(tags: list[str]) -> list[Meal | None]:
        found = [None if _awaits_first_meal(room[t]) else _meal(room[t], on, settings) for t in tags]
        return [meal if meal and meal.due <= on else None for meal in found]

    meals = scene.kept.each("meal due", {o.tag: (o,) for o in room.values()}, due)
    for occupant, meal in zip(room.values(), meals, strict=True):
        if meal:
            yield from _feeding(occupant, meal, together.get(occupant.tag, ""), on)


def _together_tonight(room: Room, moves: list[Move]) -> dict[str, str]:
    pairs: dict[str, str] = {}
    for move in moves:
        if move.action in (Action.MOVE_IN, Action.LEAVE_IN):
            pairs[move.male], pairs[move.female] = move.female, move.male
    for occupant in room.values():
        paired = occupant.seen.last(Kind.PAIRED)
        parted = occupant.seen.last(Kind.PARTED)
        if paired and paired.on == occupant.seen.on and not (parted and parted.at and parted.on == paired.on):
            pairs.setdefault(occupant.tag, paired.partner)
    return pairs


def _awaits_first_meal(occupant: Occupant) -> bool:
    age = occupant.animal.age_days(occupant.seen.on)
    return age is not None and age <= 90 and occupant.seen.last_meal() is None


def _feeding(occupant: Occupant, meal: Meal, mate: str, on: date) -> Iterator[Task]:
    skip = _skip(occupant, mate, meal, on)
    if skip and skip == _gravid(occupant, on) and meal.due < on:
        return  # said on the day it fell due; repeating it daily would only be noise
    if skip:
        yield task_for(occupant, Todo.SKIP_MEAL, skip, meal.entries, Urgency.SOON)
        return
    urgency = Urgency.SOON if (on - meal.due).days < 2 else Urgency.TODAY
    why = joined(": ", (meal.offer, meal.why))
    yield task_for(occupant, Todo.FEED, why, meal.entries, urgency, prey=meal.prey)


def _meal(occupant: Occupant, on: date, settings: Settings) -> Meal:
    diet = diet_now(occupant, on, settings)
    meal = meal_due(occupant.seen, diet, occupant.mass, settings.female_meal_days)
    if diet is Diet.MALE_IN_SEASON and not settings.pairing_night(on) and meal.entries:
        weekend = meal.entries[-1].on + timedelta(days=WEEKEND_AFTER_DAYS)
        why = say("{why}; days off bring a meal", why=meal.why)
        return replace(meal, due=min(meal.due, weekend), why=why)
    return meal


def _skip(occupant: Occupant, mate: str, meal: Meal, on: date) -> str:
    if mate:
        return say(
            "a meal is due, but he is in with {mate} tonight"
            if occupant.wear
            else "a meal is due, but she has {mate} tonight",
            mate=mate,
        )
    shed = occupant.seen.last(Kind.SHED)
    if shed and shed.on == on:
        return say("a meal is due, but it shed today; offer tomorrow")
    return _gravid(occupant, on)


def _gravid(occupant: Occupant, on: date) -> str:
    season = occupant.season
    if season and season.stage in (Stage.OVULATED, Stage.SHED):
        return say("{stage}: she seldom eats before the eggs (common practice)", stage=season.stage)
    if season and season.stage is Stage.LAID and season.basis:
        days = season.basis.since(on)
        if days < AFTER_LAYING_DAYS:
            return say(
                "laid {ago}; first meal one to two weeks after the eggs (common practice)", ago=ago(days)
            )
    return ""
