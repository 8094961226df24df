"""What to keep an eye on: the signs of ovulation, the pre-lay shed, the eggs."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from eggtooth.engine.cycle.season import Season, Stage, late_signs, mm_now
from eggtooth.engine.facts import biology
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.occupants import Occupant
from eggtooth.engine.planning.prospects import eggs_ahead
from eggtooth.engine.rounds.task import Scene, Task, Todo, Urgency, task_for
from eggtooth.engine.spans import ago
from eggtooth.engine.wording import joined, say

VET = say("if nothing comes or she strains, see a reptile vet")


def watching_lines(scene: Scene) -> Iterator[Task]:
    """Lines for females whose next milestone is near."""
    room, on, settings = scene.room, scene.on, scene.settings
    for occupant in room.values():
        season = occupant.season
        if season is None:
            continue
        if season.stage in (Stage.GROWING, Stage.BUILDING, Stage.RESTING):
            yield from _before_ovulation(occupant, season, on, settings)
        elif season.stage is Stage.OVULATED:
            yield from _shed(occupant, season, on)
            yield from _eggs(occupant, season, on)
        elif season.stage is Stage.SHED:
            yield from _eggs(occupant, season, on)


def _before_ovulation(occupant: Occupant, season: Season, on: date, settings: Settings) -> Iterator[Task]:
    signs = [e for e in late_signs(occupant.seen, settings.season_start(on)) if e.since(on) <= 21]
    large = (
        season.stage is Stage.BUILDING
        and season.basis is not None
        and season.follicle_mm is not None
        and mm_now(season.follicle_mm, season.basis.since(on)) >= biology.HINGE.value
    )
    if not (large or signs):
        return
    sign = say("{sign} on {on:%-d %b}", sign=signs[-1].detail, on=signs[-1].on) if signs else ""
    when = say("ovulation {when}", when=season.ovulation) if season.ovulation else ""
    look = say(
        "look for off food, glow, cool seeking, the bowl wrapped, and the swelling that lasts a day "
        "(common practice)"
    )
    basis = tuple(e for e in (season.basis, *signs[-1:]) if e)
    yield task_for(
        occupant,
        Todo.WATCH,
        joined("; ", filter(None, (sign, when, look))),
        basis,
    )


def _shed(occupant: Occupant, season: Season, on: date) -> Iterator[Task]:
    due = season.prelay_shed
    if due and season.basis and due.q05 - timedelta(days=2) <= on:
        why = say(
            "ovulated {ago}; pre-lay shed {due} (common practice)", ago=ago(season.basis.since(on)), due=due
        )
        late = on > due.q95 + timedelta(days=7)
        yield task_for(occupant, Todo.WATCH, joined("; ", (why, VET)) if late else why, (season.basis,))


def _eggs(occupant: Occupant, season: Season, on: date) -> Iterator[Task]:
    due, basis = season.laid, season.basis
    if due is None or basis is None or on < due.q05 - timedelta(days=3):
        return
    event = say("pre-lay shed") if season.stage is Stage.SHED else say("ovulation")
    why = say(
        "{event} {ago}; eggs {due} (common practice); nest box in, leave her in peace",
        event=event,
        ago=ago(basis.since(on)),
        due=due,
    )
    eggs = float(round(eggs_ahead(occupant.seen, occupant.mass.mass_g if occupant.mass else None)))
    overdue = (
        biology.OVERDUE_AFTER_SHED.value if season.stage is Stage.SHED else biology.OVERDUE_OVULATION.value
    )
    if basis.since(on) > overdue:
        late = say("{why}; overdue: {vet}", why=why, vet=VET)
        yield task_for(occupant, Todo.EGGS_DUE, late, (basis,), Urgency.NOW, likely=eggs)
    else:
        yield task_for(occupant, Todo.EGGS_DUE, why, (basis,), likely=eggs)
