"""The males' nights: found locked or not in the morning, carried in the evening, and what it costs them."""

from __future__ import annotations

from datetime import date

import numpy as np

from eggtooth.engine.colony import State
from eggtooth.engine.entries import Kind
from eggtooth.engine.simulate.notebook import day_of
from eggtooth.engine.simulate.policy import Decision, MaleSeen, Policy, RoomView
from eggtooth.engine.simulate.room import Pair, Room
from eggtooth.engine.simulate.truth import MaleSeason

LEAST_MALE_G, LEAST_MALE_DAYS = 500.0, 270
LAZY_FROM_G = 1000.0
RESERVE_DAYS, RESERVE_FOR_G = 64.0, 700.0
RESERVE_DAYS_SD = 0.07
WITH_HER, AT_HOME = 1.1, 0.95
DIES_PER_DAY = 0.12
BREEDING_BURN = 0.0005
POOR_EATERS = 0.12
RECOVERS_DAYS = 80.0


def morning(room: Room) -> None:
    """Look for locks. What happened in the night is the truth; what is seen and noted is less."""
    lock, held, seen = (room.chances.uniform(p) for p in ("lock", "held", "lock seen"))
    for pair in room.pairs.values():
        chance = 0.35 if pair.locked else _lock_chance(room, pair)
        mated = bool(lock[pair.male] < chance)
        pair.locked = mated and bool(held[pair.male] < 0.65)
        pair.seen = False
        if mated:
            _mated(room, pair)
        if pair.locked and room.noted(float(seen[pair.male]), 0.97):
            pair.seen = True
            hour = 6.75 + 2 * float(held[pair.male])
            room.book.note(room.on, room.tags[pair.male], Kind.LOCK, None, room.tags[pair.female], hour=hour)


def _lock_chance(room: Room, pair: Pair) -> float:
    """How willing both are: her follicles, his size and what is left of him."""
    year = room.year
    if year is None or pair.female not in year.place:
        return 0.04
    mm = year.diameter_mm(pair.female, room.today)
    her = 0.05 if np.isnan(mm) else float(np.interp(mm, (4, 9, 13, 30, 45), (0.05, 0.18, 0.5, 0.55, 0.3)))
    lazy = 0.6 if room.bodies.tissue_g[pair.male] > LAZY_FROM_G else 1.0
    return her * lazy * max(0.2, min(1.0, 0.4 + float(room.bodies.reserve[pair.male])))


def _mated(room: Room, pair: Pair) -> None:
    assert room.year is not None
    room.year.locks.setdefault(pair.female, []).append((room.today, pair.male))
    room.year.males[pair.male].locks += 1


def evening(room: Room, policy: Policy) -> None:
    """Ask the policy, then carry the males."""
    if room.year is None or not room.settings.season_open(room.on):
        _part(room, list(room.pairs.values()))
        _season_over(room)
        return
    decision = policy.decide(view_of(room))
    by_tag = {room.tags[i]: i for i in range(room.n)}
    _rest(room, decision, by_tag)
    wanted = {by_tag[m]: by_tag[f] for m, f in decision.together.items()}
    _refuse_impossible(room, wanted)
    _part(room, [p for m, p in room.pairs.items() if wanted.get(m) != p.female])
    for male, female in wanted.items():
        if male not in room.pairs:
            _carry(room, male, female)


def _season_over(room: Room) -> None:
    """Males still breeding when the season closes are done for the year."""
    for i, season in room.year.males.items() if room.year else ():
        if season.rested is None and room.alive()[i]:
            season.rested = room.on
            room.book.note(room.on, room.tags[i], Kind.RESTED, None, "the season is over")


def view_of(room: Room) -> RoomView:
    """What the keeper knows this evening."""
    year = room.year
    assert year is not None
    alive = room.alive()
    males = [i for i in range(room.n) if alive[i] and room.male[i] and _may_breed(room, i)]
    females = [int(i) for i in year.who if alive[i] and not _in_quarantine(room, int(i))]
    return RoomView(
        room.on,
        tuple(_male_seen(room, i) for i in males),
        tuple(room.tags[i] for i in females),
        frozenset(room.tags[i] for i in females if i in year.gravid_known),
        {room.tags[p.male]: room.tags[p.female] for p in room.pairs.values()},
        frozenset(room.tags[p.male] for p in room.pairs.values() if p.seen),
        room.colony,
    )


def _in_quarantine(room: Room, i: int) -> bool:
    tub = room.animals[room.tags[i]].tub
    return tub is not None and tub.rack in room.settings.quarantine_racks


def _may_breed(room: Room, i: int) -> bool:
    grown = room.noted_g[i] >= LEAST_MALE_G and room.age_days(i) >= LEAST_MALE_DAYS
    begun = room.year is not None and i in room.year.males
    return bool(grown or begun) and not _in_quarantine(room, i)


def _male_seen(room: Room, i: int) -> MaleSeen:
    assert room.year is not None
    season = room.year.males.get(i)
    start = room.start_g.get(i, float(room.noted_g[i])) if season else float(room.noted_g[i])
    since = int(min(room.today - room.noted_meal[i], 9999))
    rested = season is not None and season.rested is not None
    return MaleSeen(room.tags[i], float(room.noted_g[i]), start, since, season is not None, rested)


def _rest(room: Room, decision: Decision, by_tag: dict[str, int]) -> None:
    assert room.year is not None
    for tag, why in decision.rest.items():
        season = room.year.males.get(by_tag[tag])
        if season is None or season.rested is not None:
            continue
        season.rested = room.on
        season.reserve_when_rested = float(room.bodies.reserve[by_tag[tag]])
        season.reserve_lost_per_day = 1 / _reserve_days(room, by_tag[tag])
        room.book.note(room.on, tag, Kind.RESTED, None, why)


def _refuse_impossible(room: Room, wanted: dict[int, int]) -> None:
    """No two males to one female, nobody who is not here, males to females only."""
    if len(set(wanted.values())) < len(wanted):
        raise ValueError("two males cannot go to one female")
    for male, female in wanted.items():
        ok = room.alive()[male] and room.alive()[female] and room.male[male] and not room.male[female]
        if not ok:
            raise ValueError(f"{room.tags[male]} cannot go to {room.tags[female]}")


def _part(room: Room, pairs: list[Pair]) -> None:
    for pair in pairs:
        del room.pairs[pair.male]
        hour = 9.5 if room.on.weekday() == 4 else 19.5
        room.book.note(room.on, room.tags[pair.male], Kind.PARTED, None, room.tags[pair.female], hour=hour)


def _carry(room: Room, male: int, female: int) -> None:
    year = room.year
    assert year is not None
    room.pairs[male] = Pair(male, female, room.today)
    if male not in year.males:
        rng = room.chances.keyed("stops", male, year.first_day)
        days = 60 * float(np.exp(rng.normal(0, 0.25))) * (0.5 if rng.random() < POOR_EATERS else 1.0)
        stops = day_of(room.today + round(days))
        year.males[male] = MaleSeason(room.tags[male], day_of(year.first_day).year, room.on, stops)
        room.start_g[male] = float(room.noted_g[male])
        room.true_start_g[male] = float(room.bodies.tissue_g[male])
    room.book.note(room.on, room.tags[male], Kind.PAIRED, None, room.tags[female], hour=20.5)


def wear(room: Room) -> None:
    """A night's cost: the reserve of a fasting, breeding male sinks; at rest and fed it comes back."""
    year = room.year
    if year is None:
        return
    dies = room.chances.uniform("dies of breeding")
    reserve = room.bodies.reserve
    for i, season in year.males.items():
        if not room.alive()[i]:
            continue
        fasting = room.on >= season.stops_eating and room.bodies.fasting_days[i] > 7
        with_her = i in room.pairs
        if season.rested is None and fasting:
            reserve[i] -= (WITH_HER if with_her else AT_HOME) / _reserve_days(room, i)
        else:
            reserve[i] = min(1.0, reserve[i] + 1 / RECOVERS_DAYS)
        if with_her:
            room.bodies.tissue_g[i] *= 1 - BREEDING_BURN
        season.nights += with_her
        if reserve[i] < 0 and dies[i] < DIES_PER_DAY * -reserve[i]:
            _dies(room, i, season)


def _reserve_days(room: Room, i: int) -> float:
    """Days without a meal a breeding male can go on: more for a big one, and each his own.

    By what he weighed when he first went in, not by what was written down of it.
    """
    if i not in room.stamina:
        room.stamina[i] = float(np.exp(room.chances.keyed("reserve", i).normal(0, RESERVE_DAYS_SD)))
    size = min(1.6, max(0.72, room.true_start_g.get(i, RESERVE_FOR_G) / RESERVE_FOR_G))
    return float(RESERVE_DAYS * room.stamina[i] * size**0.7)


def _dies(room: Room, i: int, season: MaleSeason) -> None:
    season.died = date.fromordinal(room.today)
    room.leaves(i, State.DEAD)
    room.book.note(room.on, room.tags[i], Kind.DIED)
