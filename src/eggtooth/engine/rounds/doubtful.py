"""Lines for what is odd now: shared tubs, weights that cannot follow, a female off food and losing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from eggtooth.engine.condition.weights import loss_percent, mass_around
from eggtooth.engine.doubts import HEAVIEST_G, Doubt, doubts_of_animal, incubators_out_of_range, shared_tubs
from eggtooth.engine.entries import Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.occupants import Occupant
from eggtooth.engine.rounds.task import Scene, Task, Todo, Urgency, task_for
from eggtooth.engine.wording import say

RECENT = timedelta(days=30)


def doubt_lines(scene: Scene) -> Iterator[Task]:
    """What came to be odd in the last month, plus what is odd about the room as it stands."""
    colony, room, on = scene.colony, scene.room, scene.on
    rests_on = {tag: (occupant, colony.animals) for tag, occupant in room.items()}
    for tasks in scene.kept.each(
        f"odd, eggs in {list(colony.incubators)}", rests_on, lambda tags: [_odd(scene, room[t]) for t in tags]
    ):
        yield from tasks
    for doubt in shared_tubs(colony, on):
        yield task_for(room[doubt.tag], Todo.LOOK_INTO, doubt.text)
    for doubt in incubators_out_of_range(colony, on):
        yield Task(Todo.LOOK_INTO, doubt.tag, "", None, doubt.text, doubt.entries, Urgency.NOW)
    yield from _ill_matched(scene)


def _odd(scene: Scene, occupant: Occupant) -> list[Task]:
    """What came to be odd about one animal in the last month."""
    since = scene.on - RECENT
    doubts = doubts_of_animal(scene.colony, occupant.animal, occupant.seen, since)
    return [
        task_for(occupant, Todo.LOOK_INTO, doubt.text, doubt.entries, Urgency.SOON)
        for doubt in doubts
        if doubt.on and doubt.on >= since and not _weighed_again(occupant, doubt)
    ] + list(_losing(occupant, scene.on, scene.settings))


def _weighed_again(occupant: Occupant, doubt: Doubt) -> bool:
    """A reading that only does not follow has its own line (`weigh`); one that cannot be is still told."""
    odd = occupant.mass.doubtful if occupant.mass else None
    return odd is not None and doubt.entries == (odd,) and (odd.value or 0) <= HEAVIEST_G


def _losing(occupant: Occupant, on: date, settings: Settings) -> Iterator[Task]:
    """An animal other than a breeding male or a female that laid, lighter than three months ago."""
    if occupant.wear and occupant.seen.last(Kind.PAIRED, settings.season_start(on)):
        return
    now, then = occupant.mass, mass_around(occupant.seen, on - timedelta(days=90), 30)
    if not now or not then or occupant.seen.last(Kind.LAID, then.weighed - timedelta(days=14)):
        return
    loss = loss_percent(then, now)
    if loss >= settings.loss_worry_percent:
        why = say(
            "lost {loss:.0f} % in about three months; look it over, see a reptile vet if it goes on",
            loss=loss,
        )
        urgency = Urgency.NOW if loss >= settings.loss_dramatic_percent else Urgency.TODAY
        yield task_for(occupant, Todo.LOOK_INTO, why, (*then.entries, *now.entries), urgency)


def _ill_matched(scene: Scene) -> Iterator[Task]:
    """Pairs that sit together though they should not, and two males noted with one female."""
    room = scene.room
    taken: dict[str, str] = {}
    for pair in scene.sittings.values():
        male, female = room[pair.male], room[pair.female]
        if why := scene.pairs.against(male.animal, female.animal):
            text = say("{male} and {female} sit together: {why}", male=pair.male, female=pair.female, why=why)
            yield task_for(female, Todo.LOOK_INTO, text, (pair.since,), Urgency.TODAY, pair.male)
        if other := taken.get(pair.female):
            text = say(
                "{other} and {male} are both noted as with {female}",
                other=other,
                male=pair.male,
                female=pair.female,
            )
            yield task_for(female, Todo.LOOK_INTO, text, (pair.since,), Urgency.NOW, pair.male)
        taken[pair.female] = pair.male
