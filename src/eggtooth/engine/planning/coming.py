"""The coming nights, played forward by expectation: tonight as the round has it, then the likeliest course.

Nothing is drawn by chance: each night to come brings each pair part of a lock, as much as is likely; nobody
is found locked, so each male moves on; a male rests from the middle of his rest-by dates.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.facts import biology
from eggtooth.engine.house import DAYS, Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.fertile import Prospects, prospects_of
from eggtooth.engine.planning.nights import Action, Move, acquainted, moves_on
from eggtooth.engine.planning.occupants import Occupant, Room, room_on, sittings
from eggtooth.engine.planning.pairs import Pairs
from eggtooth.engine.planning.rotation import SAT_LEAD, Night, choose, expect
from eggtooth.engine.planning.rules import female_out_for_now, females_this_week, male_out_for_now
from eggtooth.engine.planning.visiting import why_now
from eggtooth.engine.planning.wanted import Wanted, read
from eggtooth.engine.wording import say


@dataclass(frozen=True, slots=True)
class ComingNight:
    """One night: the date of its evening, whether males go in, and the moves of that day."""

    on: date
    pairing: bool
    moves: tuple[Move, ...]


@dataclass(slots=True)
class Course:
    """How the nights go on from tonight."""

    room: Room
    pairs: Pairs
    wanted: Wanted
    settings: Settings
    males: list[Occupant]
    females: list[Occupant]
    prospects: Prospects
    known: dict[tuple[str, str], float]
    sitting: dict[str, str] = field(default_factory=dict)
    nights_in: dict[str, int] = field(default_factory=dict)
    week: dict[str, set[str]] = field(default_factory=dict)


def coming_nights(
    colony: Colony, on: date, nights: int, settings: Settings | None = None, known: Kept | None = None
) -> list[ComingNight]:
    """Tonight and the nights after it, from entries dated `on` or earlier and the plan in the settings alone.

    Raises `ValueError` for less than one night or more than 28: further ahead the forecasts say too little.
    Cost: that of the round's moves for each night. `known` holds what was worked out for the same day and
    settings.
    """
    if not 1 <= nights <= 28:
        raise ValueError(f"nights are planned 1 to 28 ahead, not {nights}")
    rules, known = settings or Settings(), known or Kept()
    room = room_on(colony, on, rules, all_dates=False, kept=known)
    together = sittings(room, rules, known)
    pairs = known.get("pairs", (colony.animals,), lambda: Pairs(colony, rules))
    wanted = known.get("wanted", (), lambda: read(rules.plan_on(on)))
    moves = moves_on(room, together, pairs, rules, wanted, known)
    course = _begun(room, pairs, wanted, rules, {m: s.female for m, s in together.items()}, moves)
    found = [ComingNight(on, rules.pairing_night(on), tuple(moves))]
    for after in range(1, nights):
        day = on + timedelta(days=after)
        found.append(ComingNight(day, rules.pairing_night(day), tuple(_next(course, day, after))))
    return found


def _begun(
    room: Room,
    pairs: Pairs,
    wanted: Wanted,
    settings: Settings,
    sat: Mapping[str, str],
    moves: Sequence[Move],
) -> Course:
    """The state after tonight."""
    males = [o for o in room.values() if o.animal.sex is Sex.MALE and not male_out_for_now(o)]
    females = [o for o in room.values() if o.animal.sex is Sex.FEMALE and not female_out_for_now(o)]
    course = Course(
        room,
        pairs,
        wanted,
        settings,
        males,
        females,
        prospects_of(females, wanted, settings),
        acquainted(females, settings),
        dict(sat),
    )
    for male in males:
        course.nights_in[male.tag] = male.wear.nights_in if male.wear else 0
        course.week[male.tag] = females_this_week(male)
    for move in moves:
        if move.action is Action.PART:
            course.sitting.pop(move.male, None)
        elif move.action is not Action.CHECK:
            course.sitting[move.male] = move.female
    _slept(course, 0)
    return course


def _slept(course: Course, after: int) -> None:
    """One night passes for all pairs that sit."""
    for male, female in course.sitting.items():
        course.nights_in[male] = course.nights_in.get(male, 0) + 1
        course.week.setdefault(male, set()).add(female)
        course.known.setdefault((male, female), SAT_LEAD)
    known = {o.tag for o in course.females}
    expect(_night(course, [], after), {m: f for m, f in course.sitting.items() if f in known})


def _next(course: Course, day: date, after: int) -> list[Move]:
    """The moves of one day to come."""
    if day.weekday() == 0:
        course.week = {m: set() for m in course.week}
    if not course.settings.pairing_night(day):
        return _part_all(course, day)
    able = [o for o in course.males if not _rests(o, day) and _may_meet_more(course, o.tag)]
    night = _night(course, able, after)
    chosen = choose(night, lambda m, f: course.pairs.against(course.room[m].animal, course.room[f].animal))
    moves = [_goes(course, m, f) for m, f in chosen.items()]
    moves += [_home(m, f) for m, f in course.sitting.items() if m not in chosen]
    course.sitting = dict(chosen)
    _slept(course, after)
    return moves


def _night(course: Course, males: Sequence[Occupant], after: int) -> Night:
    return Night(
        [o.tag for o in males],
        [course.nights_in[o.tag] for o in males],
        [o.tag for o in course.females],
        course.prospects,
        course.wanted,
        course.settings,
        known=course.known,
        apart=set(course.sitting.items()),
        after=after,
    )


def _rests(male: Occupant, day: date) -> bool:
    by = male.wear.rest_by if male.wear else None
    return by is not None and by[1] <= day


def _may_meet_more(course: Course, male: str) -> bool:
    return len(course.week.get(male, ())) < biology.FEMALES_A_WEEK.value


def _goes(course: Course, male: str, female: str) -> Move:
    why, entries = why_now(course.room[male], course.room[female], course.wanted, course.settings)
    return Move(Action.MOVE_IN, male, female, why, entries)


def _home(male: str, female: str) -> Move:
    return Move(Action.PART, male, female, "a night at home: no visit of his adds enough that night")


def _part_all(course: Course, day: date) -> list[Move]:
    open_ = course.settings.season_open(day)
    why = (
        say("{day}: apart, a rest and a meal", day=DAYS[day.weekday()])
        if open_
        else say("the pairing season is over")
    )
    moves = [Move(Action.PART, m, f, why) for m, f in course.sitting.items()]
    course.sitting = {}
    return moves
