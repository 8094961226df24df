"""Meals: when they are offered, what, whether they are taken, and whether it is written down."""

from __future__ import annotations

import numpy as np

from eggtooth.engine.entries import Kind, Prey
from eggtooth.engine.facts.biology import PREY_G
from eggtooth.engine.simulate.room import NEVER, Room

IN_SHED_DAYS = 8
FRIDAY = 4
AFTER_EGGS_DAYS = 9
MEAL_RESTORES = 0.4
KEPT_AT_G = 780.0
"""The keeper feeds a resting male up to about this mass and then holds him there."""


def feed(room: Room) -> None:
    """Offer today's meals. Animals that sit with a mate are passed over until they are apart."""
    takes, items, written = (room.chances.uniform(p) for p in ("takes", "items", "meal noted"))
    sitting = {i for p in room.pairs.values() for i in (p.male, p.female)}
    for i in np.flatnonzero(room.alive() & (room.next_meal <= room.today)):
        if int(i) not in sitting:
            _offer(room, int(i), float(takes[i]), float(items[i]), float(written[i]))


def _offer(room: Room, i: int, takes: float, items: float, written: float) -> None:
    share, interval = _plan(room, i)
    late = 1 + int(items * 40) if items < 0.08 else 0
    room.next_meal[i] = room.today + interval + late + (1 if items > 0.8 else 0)
    if _passed_over(room, i):
        return
    grams = share * room.bodies.tissue_g[i]
    count = 1
    if _fed_hard(room, i):
        count = 1 + (items > 0.35) + (items > 0.9)
    name, each = _prey(grams / count)
    taken = count if takes < _appetite(room, i) else 0
    if taken:
        room.bodies.eat(i, each * taken)
        room.bodies.reserve[i] = min(1.0, room.bodies.reserve[i] + MEAL_RESTORES)
    if room.noted(written, 0.96 if taken else 0.9):
        _write(room, i, taken, name, each, written)


def _write(room: Room, i: int, taken: int, name: str, each: float, u: float) -> None:
    note = "eyes cloudy" if not taken and _in_shed(room, i) and u < 0.5 else ""
    prey = Prey(name, round(each) if u < 0.25 else None)
    room.book.note(room.on, room.tags[i], Kind.MEAL, float(taken), prey, note=note)
    if taken:
        room.noted_meal[i] = room.today


def _prey(grams: float) -> tuple[str, float]:
    """The trade size and what one item of it weighs, held to the size's range."""
    least = 6.0
    for most, name in PREY_G:
        if grams <= most:
            return name, max(grams, least)
        least = float(most)
    most, name = PREY_G[-1]
    return name, float(most)


def _fed_hard(room: Room, i: int) -> bool:
    """A breeding female from September to her eggs, or getting back what the eggs took."""
    if room.male[i] or room.year is None or i not in room.year.place:
        return False
    return room.today < room.year.day(i, "laid") or room.noted_g[i] < 1600


def breeding_male(room: Room, i: int) -> bool:
    """A male with nights behind him this season, not rested yet."""
    season = room.year.males.get(i) if room.year else None
    return season is not None and season.rested is None


def _plan(room: Room, i: int) -> tuple[float, int]:
    """Share of body mass and days to the next meal, as the keeper plans it."""
    mass = room.bodies.tissue_g[i]
    if breeding_male(room, i):
        ahead = (FRIDAY - room.on.weekday() - 1) % 7 + 1
        return min(0.07, 60 / mass), max(ahead, 4) if ahead > 2 else ahead + 7
    if _fed_hard(room, i):
        return 0.10, 6
    if mass < 500:
        return 0.12, 7
    if mass < 1000 and room.age_days(i) < 900:
        return 0.10, 8
    if room.male[i]:
        return (0.10, 8) if mass < KEPT_AT_G else (0.06, 12)
    return 0.07, 12


def _passed_over(room: Room, i: int) -> bool:
    """No meal between known ovulation and the week after the eggs, nor with a first shed to come."""
    if room.year is None:
        return False
    laid = room.year.day(i, "laid")
    if laid <= room.today:
        return room.today - laid < AFTER_EGGS_DAYS
    known = i in room.year.gravid_known
    return known and laid < NEVER and room.today >= laid - 35


def _in_shed(room: Room, i: int) -> bool:
    return bool(0 <= room.next_shed[i] - room.today <= IN_SHED_DAYS)


def _appetite(room: Room, i: int) -> float:
    """Chance that a meal is taken today."""
    if room.today < room.first_meal[i] < NEVER:
        return 0.05
    base = 0.97 if _fed_hard(room, i) else 0.90
    if room.on.month in (11, 12, 1, 2) and not (_fed_hard(room, i) or breeding_male(room, i)):
        base = 0.78
    if _in_shed(room, i):
        base *= 0.4
    return base * (_male_appetite(room, i) if room.male[i] else _female_appetite(room, i))


def _male_appetite(room: Room, i: int) -> float:
    """Eager at first, off food about two months into the season, back some weeks after he is rested."""
    season = room.year.males.get(i) if room.year else None
    if season is None or room.on < season.stops_eating:
        return 1.0
    if season.rested is None:
        return 0.03
    return 0.15 if (room.on - season.rested).days < 18 else 1.0


def _female_appetite(room: Room, i: int) -> float:
    year = room.year
    if year is None or i not in year.place or room.today < year.day(i, "off_food"):
        return 1.0
    laid, reabsorbs = year.day(i, "laid"), year.day(i, "reabsorbs")
    ends = laid + AFTER_EGGS_DAYS if laid < NEVER else reabsorbs + 30
    return 0.08 if room.today < ends else 1.0
