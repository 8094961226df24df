"""Tonight's moves: who stays, who goes to whom, who is parted, from what was seen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import compress

from eggtooth.engine.colony import Sex
from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import DAYS, Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.fertile import prospects_of
from eggtooth.engine.planning.occupants import Occupant, Room, Sitting
from eggtooth.engine.planning.pairs import Pairs
from eggtooth.engine.planning.rotation import LOCKED_LEAD, SAT_LEAD, Night, choose, counted
from eggtooth.engine.planning.rules import female_gets_none, male_stays_home
from eggtooth.engine.planning.visiting import why_now
from eggtooth.engine.planning.wanted import Wanted, read
from eggtooth.engine.wording import joined, say


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


def moves_on(
    room: Room,
    sitting: Mapping[str, Sitting],
    pairs: Pairs,
    settings: Settings,
    wanted: Wanted | None = None,
    kept: Kept | None = None,
) -> list[Move]:
    """All moves of one day. Pairs that sit are judged first; free males then go where they add most.

    `wanted` is how much each pair is wanted; the plan in the settings if not given. `kept` holds what was
    worked out for the same day, settings and `wanted`.
    """
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
    kept = kept or Kept()
    wanted = wanted or kept.get("wanted", (), lambda: read(settings.plan_on(on)))
    return moves + _send_out(room, pairs, sitting, free, parted, busy, settings, wanted, kept)


def _parted_today(o: Occupant) -> Left | None:
    """Whom a male was taken from today: she is not his next tonight."""
    parted = o.seen.last(Kind.PARTED) if o.animal.sex is Sex.MALE else None
    if parted is None or parted.on != o.seen.on:
        return None
    return Left(parted.partner, say("parted from {partner} today", partner=parted.partner), (parted,))


def _judge(pair: Sitting, room: Room, settings: Settings) -> tuple[list[Move], str]:
    """What becomes of a pair that sits together, and why he moves on, if he does."""
    male, female = room[pair.male], room[pair.female]
    on = male.seen.on
    lock = pair.locked_on(on)
    if lock:
        why = say("locked this morning; leave them until they let go")
        return [Move(Action.LEAVE_IN, pair.male, pair.female, why, (lock,))], ""
    if pair.since.on == on:
        return [], ""
    check = Move(Action.CHECK, pair.male, pair.female, _check_why(pair), (pair.since, *pair.locks[-1:]))
    stop = _must_part(male, female, settings)
    if stop:
        return [check, Move(Action.PART, pair.male, pair.female, stop, (pair.since,))], ""
    if pair.locks:
        return [check], say(
            "locked with {female} on {on:%-d %b} and let go", female=pair.female, on=pair.locks[-1].on
        )
    return [check], say("no lock noted with {female} since {on:%-d %b}", female=pair.female, on=pair.since.on)


def _check_why(pair: Sitting) -> str:
    return say("together since {on:%-d %b}; if locked, note it and he stays", on=pair.since.on)


def _must_part(male: Occupant, female: Occupant, settings: Settings) -> str:
    on = male.seen.on
    if male.wear and male.wear.state in (WearState.REST, WearState.RESTING):
        return male.wear.why
    if why := male.quarantine or female.quarantine:
        return why
    if female.season and (why := female_gets_none(female)) and "today" not in why:
        return say("she {why}", why=why)
    if not settings.season_open(on):
        return say("the pairing season is over")
    if not settings.pairing_night(on):
        return say("{day}: apart, a rest and a meal", day=DAYS[on.weekday()])
    return ""


def _send_out(
    room: Room,
    pairs: Pairs,
    sitting: Mapping[str, Sitting],
    free: Mapping[str, Left],
    parted: Mapping[str, Left],
    busy: set[str],
    settings: Settings,
    wanted: Wanted,
    kept: Kept,
) -> list[Move]:
    left = {**parted, **free}
    males = [o for o in _ready_to_go(room, kept) if o.tag not in sitting or o.tag in free]
    females = [o for o in _ready_for_one(room, kept) if o.tag not in busy]
    sit = [room[t] for t in sitting if t not in free]
    night = night_of(males, females, sit, left, wanted, settings, kept)
    counts = counted(night)

    def work() -> dict[str, str]:
        return choose(night, lambda m, f: pairs.against(room[m].animal, room[f].animal), counts)

    same = (pairs, tuple(night.males), tuple(night.females), counts.tobytes())
    chosen = kept.equal("chosen", same, work)
    moves = [_move_in(room[m], room[f], left.get(m), wanted, settings) for m, f in chosen.items()]
    return moves + [_nowhere(room[t], free[t]) for t in free if t not in chosen]


def acquainted(females: Sequence[Occupant], settings: Settings) -> dict[tuple[str, str], float]:
    """The lead of each pair that sat together this season, and the greater one of those that locked."""
    found = {}
    for kind, lead in ((Kind.PAIRED, SAT_LEAD), (Kind.LOCK, LOCKED_LEAD)):
        for female in females:
            for entry in female.seen.all(kind, settings.season_start(female.seen.on)):
                found[str(entry.detail), female.tag] = lead
    return found


def night_of(
    males: Sequence[Occupant],
    females: Sequence[Occupant],
    busy: Sequence[Occupant],
    left: Mapping[str, Left],
    wanted: Wanted,
    settings: Settings,
    kept: Kept | None = None,
) -> Night:
    """Tonight: the males that may go and the females that may be visited, with what visits would add."""
    return Night(
        [o.tag for o in males],
        [o.wear.nights_in if o.wear else 0 for o in males],
        [o.tag for o in females],
        prospects_of(females, wanted, settings, kept),
        wanted,
        settings,
        [o.tag for o in busy if not male_stays_home(o)],
        acquainted(females, settings),
        {(male, gone.female) for male, gone in left.items()},
    )


def _ready_to_go(room: Room, kept: Kept) -> list[Occupant]:
    """The males whom nothing keeps at home, wherever they are."""
    males = [o for o in room.values() if o.animal.sex is Sex.MALE]
    go = kept.each(
        "goes out",
        {o.tag: (o,) for o in males},
        lambda tags: [not male_stays_home(room[t]) and not _moved_today(room[t]) for t in tags],
    )
    return list(compress(males, go))


def _ready_for_one(room: Room, kept: Kept) -> list[Occupant]:
    """The females who may get a male, whether they have one or not."""
    females = [o for o in room.values() if o.animal.sex is Sex.FEMALE]
    may = kept.each(
        "gets one",
        {o.tag: (o,) for o in females},
        lambda tags: [not female_gets_none(room[t]) and not _moved_today(room[t]) for t in tags],
    )
    return list(compress(females, may))


def _moved_today(o: Occupant) -> bool:
    paired = o.seen.last(Kind.PAIRED)
    return bool(paired and paired.on == o.seen.on)


def _move_in(male: Occupant, female: Occupant, left: Left | None, wanted: Wanted, settings: Settings) -> Move:
    why, entries = why_now(male, female, wanted, settings)
    if left:
        why, entries = (
            say("{left}, so he moves on; she: {why}", left=left.why, why=why),
            (*left.entries, *entries),
        )
    return Move(Action.MOVE_IN, male.tag, female.tag, why, entries)


def _nowhere(male: Occupant, left: Left) -> Move:
    why = male_stays_home(male) or say("no other visit of his adds enough tonight")
    return Move(Action.PART, male.tag, left.female, joined("; ", (left.why, why)), left.entries)
