"""One line of the round, and the round itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from eggtooth.engine.colony import Colony, Tub
from eggtooth.engine.entries import Entry
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.nights import Move
from eggtooth.engine.planning.occupants import Occupant, Room, Sitting
from eggtooth.engine.planning.pairs import Pairs


class Todo(StrEnum):
    """What a line asks for, in the order in which lines of one tub are done."""

    COOL_NIGHTS = "cool nights"
    WARM_NIGHTS = "warm nights"
    CHECK_FOR_LOCK = "check for lock"
    LEAVE_IN = "leave in"
    REST_MALE = "rest male"
    PART = "part"
    WEIGH = "weigh"
    SCAN = "scan"
    FEED = "feed"
    SKIP_MEAL = "skip meal"
    MOVE_IN = "move in"
    WATCH = "watch"
    EGGS_DUE = "eggs due"
    CHECK_EGGS = "check eggs"
    HATCH_DUE = "hatch due"
    HATCHLING = "hatchling"
    LOOK_INTO = "look into"


class Urgency(StrEnum):
    """How much a line can wait."""

    NOW = "now"
    TODAY = "today"
    SOON = "soon"


@dataclass(frozen=True, slots=True)
class Scene:
    """What the lines of one day are made from."""

    colony: Colony
    room: Room
    sittings: Mapping[str, Sitting]
    moves: list[Move]
    pairs: Pairs
    on: date
    settings: Settings
    kept: Kept = field(default_factory=Kept)


ORDER = {todo: place for place, todo in enumerate(Todo)}


@dataclass(frozen=True, slots=True)
class Task:
    """One line: what, for whom (and with whom), where, why, the entries behind it and how urgent it is.

    `prey` is what a meal is to be, by its trade name; `likely` the number it will most likely be answered
    with (g, mm or eggs): where a hand begins, never an observation. Both may be unknown.
    """

    todo: Todo
    tag: str
    partner: str
    tub: Tub | None
    why: str
    entries: tuple[Entry, ...]
    urgency: Urgency = Urgency.TODAY
    prey: str = ""
    likely: float | None = None


@dataclass(frozen=True, slots=True)
class Round:
    """The day's list, in walking order, and who sits with whom, by male."""

    on: date
    tasks: tuple[Task, ...]
    together: Mapping[str, Sitting] = field(default_factory=dict)


def task_for(
    occupant: Occupant,
    todo: Todo,
    why: str,
    entries: tuple[Entry | None, ...] = (),
    urgency: Urgency = Urgency.TODAY,
    partner: str = "",
    prey: str = "",
    likely: float | None = None,
) -> Task:
    """A line at an animal's own tub."""
    behind = tuple(e for e in entries if e)
    return Task(todo, occupant.tag, partner, occupant.tub, why, behind, urgency, prey, likely)


def walking_order(task: Task) -> tuple[object, ...]:
    """Sort key: the room first, then tub by tub, then the order of hands within a tub."""
    place = (0,) if not task.tag else (1, *task.tub) if task.tub else (2,)
    tub = tuple(str(p) if isinstance(p, str) else p for p in place)
    return (place[0], tub[1:], task.tag if place[0] == 2 else "", ORDER[task.todo], task.tag, task.partner)
