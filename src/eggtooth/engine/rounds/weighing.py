"""Who is weighed and who is scanned today."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from eggtooth.engine.colony import Sex
from eggtooth.engine.cycle.season import Stage, mm_now, scan_every_days
from eggtooth.engine.entries import Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.nights import Action
from eggtooth.engine.planning.occupants import Occupant
from eggtooth.engine.planning.rules import female_gets_none
from eggtooth.engine.rounds.task import Scene, Task, Todo, Urgency, task_for
from eggtooth.engine.spans import ago
from eggtooth.engine.wording import Said, say

STOPPED_EATING_DAYS = 14
FULL_BELLY_DAYS = 2
OFF_FOOD, BREEDING = say("male off food"), say("breeding male")
IN_SEASON, GROWING, ADULT = say("female in season"), say("growing"), say("adult")
EVERY_DAYS = {OFF_FOOD: 7, BREEDING: 14, IN_SEASON: 30, GROWING: 30, ADULT: 60}


def weighing_lines(scene: Scene) -> Iterator[Task]:
    """Weighings and scans that have fallen due."""
    room, moves, on, settings = scene.room, scene.moves, scene.on, scene.settings
    scanned_here = any(o.seen.last(Kind.SCAN) for o in room.values())
    locked = {m.female for m in moves if m.action is Action.LEAVE_IN}
    locked |= {m.male for m in moves if m.action is Action.LEAVE_IN}

    def due(tags: list[str]) -> Iterator[tuple[tuple[Task, ...], tuple[Task, ...]]]:
        return (
            (tuple(_weighing(room[t], on, settings)), tuple(_scanning(room[t], on, settings))) for t in tags
        )

    found = scene.kept.each("weighed or scanned", {o.tag: (o,) for o in room.values()}, due)
    for tag, (weighed, scanned) in zip(room, found, strict=True):
        if tag not in locked:
            yield from weighed
            yield from scanned if scanned_here else ()


def _weighing(occupant: Occupant, on: date, settings: Settings) -> Iterator[Task]:
    last = occupant.seen.last(Kind.WEIGHT)
    if occupant.mass and occupant.mass.doubtful:
        odd = occupant.mass.doubtful
        why = say(
            "{odd:g} g on {on:%-d %b} does not follow {before:g} g; weigh again",
            odd=odd.value,
            on=odd.on,
            before=occupant.mass.mass_g,
        )
        behind = (odd, *occupant.mass.entries)
        likely = float(round(occupant.mass.mass_g))
        yield task_for(occupant, Todo.WEIGH, why, behind, Urgency.TODAY, likely=likely)
        return
    if last is None:
        yield task_for(occupant, Todo.WEIGH, say("no weight noted yet"), (), Urgency.TODAY)
        return
    group = _group(occupant, on, settings)
    every, days = EVERY_DAYS[group], last.since(on)
    eaten = occupant.seen.last_meal()
    full = eaten is not None and eaten.since(on) <= FULL_BELLY_DAYS
    if days >= every + (7 if full else 0):
        why = say("weighed {ago}; {group}: every {every} days", ago=ago(days), group=group, every=every)
        urgency = Urgency.TODAY if group is OFF_FOOD else Urgency.SOON
        yield task_for(occupant, Todo.WEIGH, why, (last,), urgency, likely=last.value)


def _group(occupant: Occupant, on: date, settings: Settings) -> Said:
    start = settings.season_start(on)
    if occupant.wear and settings.season_open(on) and occupant.seen.last(Kind.PAIRED, start):
        days = occupant.wear.days_since_meal
        return OFF_FOOD if days is not None and days >= STOPPED_EATING_DAYS else BREEDING
    age = occupant.animal.age_days(on)
    if age is not None and age < 1095:
        return GROWING
    return IN_SEASON if occupant.season and settings.season_open(on) else ADULT


def _scanning(occupant: Occupant, on: date, settings: Settings) -> Iterator[Task]:
    season = occupant.season
    if (
        occupant.animal.sex is not Sex.FEMALE
        or season is None
        or not settings.season_open(on)
        or _never(occupant)
    ):
        return
    last = occupant.seen.last(Kind.SCAN, settings.season_start(on))
    if last is None:
        yield task_for(occupant, Todo.SCAN, say("no scan this season"), (), Urgency.SOON)
        return
    now_mm = None if season.follicle_mm is None else mm_now(season.follicle_mm, last.since(on))
    every = scan_every_days(season, now_mm)
    if every is None or last.since(on) < every:
        return
    size = say("nothing seen") if not last.value else say("{mm:g} mm", mm=last.value)
    why = say("{size} {ago}", size=size, ago=ago(last.since(on)))
    if season.stage is not Stage.RESTING and now_mm is not None:
        why = say(
            "{size}, now perhaps {now_mm:.0f} mm; ovulation {when}",
            size=why,
            now_mm=now_mm,
            when=season.ovulation,
        )
    urgency = Urgency.TODAY if season.stage is Stage.BUILDING else Urgency.SOON
    yield task_for(
        occupant,
        Todo.SCAN,
        say("{why}; every {every} days at this size", why=why, every=every),
        (last,),
        urgency,
        likely=last.value if now_mm is None else float(round(now_mm)),
    )


def _never(occupant: Occupant) -> bool:
    why = female_gets_none(occupant)
    return bool(why) and "today" not in why
