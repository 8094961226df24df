"""Tonight's moves: who stays, who goes to whom, who is parted, from what was seen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain

from eggtooth.engine.colony import Sex
from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.cycle.season import Stage, mm_now
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.house import DAYS, Settings
from eggtooth.engine.planning.occupants import Occupant, Room, Sitting
from eggtooth.engine.planning.pairs import Pairs
from eggtooth.engine.planning.rules import female_gets_none, male_stays_home


class Action(StrEnum):
    """What a move asks of the hand."""

    MOVE_IN = "move in"
    LEAVE_IN = "leave in"
    PART = "part"
    CHECK = "check for lock"


@dataclass(frozen=True, slots=True)
class Move:
    """One move of a male, with its reason and the entries behind it."""

    action: Action
    male: str
    female: str
    why: str
    entries: tuple[Entry, ...] = ()


@dataclass(frozen=True, slots=True)
class Left:
    """The female a male comes from today, why he moves on, and the entries that show it."""

    female: str
    why: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Call:
    """How much a female wants a visit tonight: the smaller rank the sooner, and why."""

    rank: int
    locks: int
    why: str
    entries: tuple[Entry, ...]


def moves_on(room: Room, sitting: Mapping[str, Sitting], pairs: Pairs, settings: Settings) -> list[Move]:
    """All moves of one day. Pairs that sit are judged first; free males then go to the females by need."""
    if not room:
        return []
    moves: list[Move] = []
    free: dict[str, Left] = {}
    for pair in sitting.values():
        judged, leaves = _judge(pair, room, settings)
        moves += judged
        if leaves:
            free[pair.male] = Left(pair.female, leaves, (pair.since, *pair.locks[-1:]))
    parted = {t: left for t, o in room.items() if t not in sitting and (left := _parted_today(o))}
    on = next(iter(room.values())).seen.on
    if not settings.pairing_night(on):
        return moves
    busy = {m.female for m in moves if m.action is Action.LEAVE_IN}
    busy |= {s.female for s in sitting.values() if s.since.on == on}
    return moves + _send_out(room, pairs, sitting, free, parted, busy, settings)


def _parted_today(o: Occupant) -> Left | None:
    """Whom a male was taken from today: she is not his next tonight."""
    parted = o.seen.last(Kind.PARTED) if o.animal.sex is Sex.MALE else None
    if parted is None or parted.on != o.seen.on:
        return None
    return Left(parted.partner, f"parted from {parted.partner} today", (parted,))


def _judge(pair: Sitting, room: Room, settings: Settings) -> tuple[list[Move], str]:
    """What becomes of a pair that sits together, and why he moves on, if he does."""
    male, female = room[pair.male], room[pair.female]
    on = male.seen.on
    lock = pair.locked_on(on)
    if lock:
        why = "locked this morning; leave them until they let go"
        return [Move(Action.LEAVE_IN, pair.male, pair.female, why, (lock,))], ""
    if pair.since.on == on:
        return [], ""
    check = Move(Action.CHECK, pair.male, pair.female, _check_why(pair), (pair.since, *pair.locks[-1:]))
    stop = _must_part(male, female, settings)
    if stop:
        return [check, Move(Action.PART, pair.male, pair.female, stop, (pair.since,))], ""
    if pair.locks:
        return [check], f"locked with {pair.female} on {pair.locks[-1].on:%-d %b} and let go"
    return [check], f"no lock noted with {pair.female} since {pair.since.on:%-d %b}"


def _check_why(pair: Sitting) -> str:
    return f"together since {pair.since.on:%-d %b}; if locked, note it and he stays"


def _must_part(male: Occupant, female: Occupant, settings: Settings) -> str:
    on = male.seen.on
    if male.wear and male.wear.state in (WearState.REST, WearState.RESTING):
        return male.wear.why
    if why := male.quarantine or female.quarantine:
        return why
    if female.season and (why := female_gets_none(female)) and "today" not in why:
        return f"she {why}"
    if not settings.season_open(on):
        return "the pairing season is over"
    if not settings.pairing_night(on):
        return f"{DAYS[on.weekday()]}: apart, a rest and a meal"
    return ""


def _send_out(
    room: Room,
    pairs: Pairs,
    sitting: Mapping[str, Sitting],
    free: Mapping[str, Left],
    parted: Mapping[str, Left],
    busy: set[str],
    settings: Settings,
) -> list[Move]:
    may_go = (o for o in room.values() if _may_go(o, sitting, free))
    males = {o.tag: o for o in sorted(may_go, key=lambda o: (o.wear.nights_in if o.wear else 0, o.tag))}
    left = {**parted, **free}
    calls = {t: _call(o, settings) for t, o in room.items() if _may_receive(o, busy)}
    order = sorted(calls, key=lambda t: (calls[t].rank, calls[t].locks, _last_visit(room[t])))
    moves: list[Move] = []
    for tag in order:
        best = _best_male(room[tag], males, left, pairs, settings)
        if best is None:
            continue
        moves.append(_move_in(best, tag, calls[tag], left.get(best)))
        del males[best]
    return moves + [_nowhere(room[t], free[t]) for t in free if t not in {m.male for m in moves}]


def _may_go(o: Occupant, sitting: Mapping[str, Sitting], free: Mapping[str, object]) -> bool:
    if o.animal.sex is not Sex.MALE or (o.tag in sitting and o.tag not in free):
        return False
    return not male_stays_home(o) and not _moved_today(o)


def _moved_today(o: Occupant) -> bool:
    paired = o.seen.last(Kind.PAIRED)
    return bool(paired and paired.on == o.seen.on)


def _may_receive(o: Occupant, busy: set[str]) -> bool:
    return (
        o.animal.sex is Sex.FEMALE and o.tag not in busy and not female_gets_none(o) and not _moved_today(o)
    )


def _last_visit(female: Occupant) -> int:
    visit = female.seen.last(Kind.PAIRED)
    return visit.on.toordinal() if visit else 0


def _call(female: Occupant, settings: Settings) -> Call:
    """How much she wants a visit: inside her window with few locks first, then the rest."""
    start = settings.season_start(female.seen.on)
    locks = female.seen.all(Kind.LOCK, start)
    nights = len({e.on for e in locks})
    season = female.season
    scan = season.basis if season else None
    if not season or season.follicle_mm is None or scan is None or season.stage is Stage.RESTING:
        small = (
            f"{season.follicle_mm:g} mm" if season and season.follicle_mm is not None else "no follicle noted"
        )
        return Call(
            3, nights, f"{small}; his presence may start her (common practice)", (scan,) if scan else ()
        )
    mm = mm_now(season.follicle_mm, scan.since(female.seen.on))
    said = f"{season.follicle_mm:g} mm on {scan.on:%-d %b}, {_count(nights)} so far"
    if season.stage is Stage.BUILDING:
        return Call(1 if nights else 0, nights, f"{said}; go on until she has ovulated", (scan, *locks[-1:]))
    if mm < biology.PAIRING_FROM.value:
        return Call(3, nights, f"{said}; below 12 mm, his presence may start her (common practice)", (scan,))
    if nights < biology.LOCKS_WANTED.value:
        return Call(0, nights, f"{said}; one or two locks wanted from 12 to 25 mm", (scan, *locks[-1:]))
    return Call(2, nights, f"{said}; more do no harm if both are well", (scan, *locks[-1:]))


def _count(locks: int) -> str:
    return "no lock" if not locks else "one lock" if locks == 1 else f"{locks} locks"


def _best_male(
    female: Occupant,
    males: Mapping[str, Occupant],
    left: Mapping[str, Left],
    pairs: Pairs,
    settings: Settings,
) -> str | None:
    """Who goes to her: one who locked with her before, then one who sat with her, then the freshest.

    `males` come freshest first.
    """
    start = settings.season_start(female.seen.on)
    locked = {e.partner for e in female.seen.all(Kind.LOCK, start)}
    met = {e.partner for e in female.seen.all(Kind.PAIRED, start)}
    first = sorted(locked & males.keys()) + sorted((met - locked) & males.keys())
    rest = (tag for tag in males if tag not in locked and tag not in met)
    for tag in chain(first, rest):
        just_left = tag in left and left[tag].female == female.tag
        if not just_left and not pairs.against(males[tag].animal, female.animal):
            return tag
    return None


def _move_in(male: str, female: str, call: Call, left: Left | None) -> Move:
    why, entries = call.why, call.entries
    if left:
        why, entries = f"{left.why}, so he moves on; she: {why}", (*left.entries, *entries)
    return Move(Action.MOVE_IN, male, female, why, entries)


def _nowhere(male: Occupant, left: Left) -> Move:
    why = male_stays_home(male) or "no other female wants him tonight"
    return Move(Action.PART, male.tag, left.female, f"{left.why}; {why}", left.entries)
