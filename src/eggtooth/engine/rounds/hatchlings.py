"""The first weeks of hatchlings: first shed, first meals."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from eggtooth.engine.colony import Colony
from eggtooth.engine.condition.meals import Diet, prey_for
from eggtooth.engine.entries import Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.planning.occupants import Occupant
from eggtooth.engine.rounds.task import Scene, Task, Todo, Urgency, task_for
from eggtooth.engine.spans import Span
from eggtooth.engine.wording import say, say_n

YOUNG_DAYS = 90
MANY_REFUSALS = 5


def hatchling_lines(scene: Scene) -> Iterator[Task]:
    """Lines for hatchlings until their first meal, and for hatched clutches not yet entered one by one."""
    colony, room, on = scene.colony, scene.room, scene.on
    for occupant in room.values():
        age = occupant.animal.age_days(on)
        if age is not None and age <= YOUNG_DAYS and occupant.seen.last_meal() is None:
            yield from _first_weeks(occupant, age, on)
        yield from _to_enter(colony, occupant, on)


def _first_weeks(occupant: Occupant, age: int, on: date) -> Iterator[Task]:
    hatched = occupant.animal.hatched
    shed = occupant.seen.first(Kind.SHED)
    assert hatched is not None
    if shed is None:
        due = Span.of(hatched, biology.HATCH_TO_FIRST_SHED.varies)
        if on >= due.q05:
            why = say(
                "{age} days old, no shed noted; first shed {due} (common practice); keep it moist",
                age=age,
                due=due,
            )
            yield task_for(occupant, Todo.HATCHLING, why, (), Urgency.SOON)
        if on <= due.q95:
            return
    offered = occupant.seen.all(Kind.MEAL)
    every = biology.HATCHLING_INTERVAL.value
    if offered and offered[-1].since(on) < every:
        return
    said = say_n("refused {n} time", "refused {n} times", n=len(offered)) if offered else say("first meal")
    after = say("shed on {on:%-d %b}", on=shed.on) if shed else say("{age} days old", age=age)
    why = say(
        "{after}; {said}; offer small live-sized prey again, most take within three to five offers "
        "(common practice)",
        after=after,
        said=said,
    )
    if len(offered) >= MANY_REFUSALS:
        why = say(
            "{after}; refused {offered} times; see a reptile vet if it grows thin (common practice)",
            after=after,
            offered=len(offered),
        )
    basis = (shed, *offered[-1:])
    prey = prey_for(Diet.HATCHLING, occupant.mass)
    yield task_for(occupant, Todo.HATCHLING, why, basis, Urgency.TODAY, prey=prey)


def _to_enter(colony: Colony, occupant: Occupant, on: date) -> Iterator[Task]:
    hatched = occupant.seen.last(Kind.HATCHED, on - timedelta(days=YOUNG_DAYS))
    if hatched is None or not hatched.value:
        return
    window = timedelta(days=14)
    entered = sum(
        1
        for a in colony.animals.values()
        if a.dam == occupant.tag and a.hatched and abs(a.hatched - hatched.on) <= window
    )
    if entered < hatched.value:
        why = say(
            "{hatched:g} hatched on {on:%-d %b}, {entered} of them have a tag; note look, sex and weight",
            hatched=hatched.value,
            on=hatched.on,
            entered=entered,
        )
        yield task_for(
            occupant,
            Todo.HATCHLING,
            why,
            (hatched,),
            Urgency.SOON,
        )
