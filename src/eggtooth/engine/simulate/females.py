"""The females' seasons as they unfold in the invented house, and what of them is seen."""

from __future__ import annotations

from datetime import date

import numpy as np

from eggtooth.engine.entries import Kind, Sign
from eggtooth.engine.simulate.clutches import lay
from eggtooth.engine.simulate.follicle import Floats
from eggtooth.engine.simulate.notebook import day_of
from eggtooth.engine.simulate.room import NEVER, Room, Year
from eggtooth.engine.simulate.season import Fate, Seasons, draw_luck, seasons_from
from eggtooth.engine.simulate.sightings import SIGNS_BEFORE
from eggtooth.engine.simulate.truth import SeasonTruth

LEAST_G, LEAST_DAYS = 1150.0, 540
SEASON_DAYS: Floats = np.arange(0, 400, dtype=float)
SIGN_SEEN, OVULATION_SEEN, SHED_SEEN, SHED_TAKEN_AS_PLAIN = 0.5, 0.6, 0.86, 0.95


def begin_year(room: Room) -> None:
    """On the day the breeding year turns: who is big and old enough, and the luck each will have."""
    if room.year is not None:
        close_year(room)
    old = (room.today + 75 - room.hatched) >= LEAST_DAYS
    fit = room.alive() & ~room.male & old & (room.bodies.tissue_g >= LEAST_G)
    who = np.flatnonzero(fit)
    rng = room.chances.keyed("year", room.on.year)
    luck = draw_luck(rng, room.chances.places, room.world).some(who)
    females = room.females.some(who)
    start = date.fromordinal(room.today)
    met, alone = (seasons_from(room.world, females, luck, start, exposed) for exposed in (True, False))
    shown = _signs(rng, met, who, room)
    room.year = Year(
        room.today,
        who,
        {int(i): at for at, i in enumerate(who)},
        met,
        alone,
        np.zeros(len(who), dtype=bool),
        met.diameter_mm(SEASON_DAYS),
        alone.diameter_mm(SEASON_DAYS),
        shown,
    )
    room.next_scan[who] = room.today + 45 + rng.integers(0, 20, len(who))
    room.kept_this_year = 0


def _signs(
    rng: np.random.Generator, met: Seasons, who: np.ndarray, room: Room
) -> dict[int, list[tuple[int, Sign]]]:
    """Signs that will be seen, by day: (female, sign). Drawn as if she met males; looked up when due."""
    found: dict[int, list[tuple[int, Sign]]] = {}
    places = room.chances.places
    for sign, share in (*SIGNS_BEFORE, (Sign.HEAT_SEEKING, 0.8), (Sign.SWELLING, 0.4)):
        shows, when = (rng.random(places)[who] for _ in range(2))
        first, last = met.mm25, met.ovulation
        if sign is Sign.HEAT_SEEKING:
            first, last = met.ovulation + 1, met.ovulation + 25
        elif sign is Sign.SWELLING:
            first = last = met.ovulation
        days = first + when * (last - first)
        for at in np.flatnonzero((shows < share * SIGN_SEEN) & ~np.isnan(days)):
            found.setdefault(room.today + int(days[at]), []).append((int(who[at]), sign))
    return found


def decide_exposure(room: Room) -> None:
    """A female with a male in her tub before her follicles reach the deciding size has met one."""
    year = room.year
    assert year is not None
    today = room.today - year.first_day
    for pair in room.pairs.values():
        at = year.place.get(pair.female)
        if at is not None and not today > year.alone.decides[at]:
            year.exposed[at] = True


def milestones(room: Room) -> None:
    """Ovulations, pre-lay sheds and layings of today, and signs."""
    year = room.year
    assert year is not None
    seen = room.chances.uniform("milestone")
    for i in _here(room, year.due("ovulation", room.today)):
        if i not in year.gravid_known and room.noted(float(seen[i]), OVULATION_SEEN):
            room.book.note(room.on, room.tags[i], Kind.OVULATION)
            year.gravid_known.add(i)
    for i in _here(room, year.due("prelay_shed", room.today)):
        _prelay_shed(room, i, float(seen[i]))
    for i in _here(room, year.due("laid", room.today)):
        lay(room, i)
    for i, sign in year.signs.get(room.today, ()):
        if room.alive()[i] and year.day(i, "ovulation") < NEVER and room.noted(float(seen[i]), 1.0):
            room.book.note(room.on, room.tags[i], Kind.SIGN, None, sign)


def _here(room: Room, females: list[int]) -> list[int]:
    return [i for i in females if room.alive()[i]]


def _prelay_shed(room: Room, i: int, u: float) -> None:
    assert room.year is not None
    if room.noted(u, SHED_SEEN):
        room.book.note(room.on, room.tags[i], Kind.PRELAY_SHED)
        room.year.gravid_known.add(i)
    elif room.noted(u, SHED_TAKEN_AS_PLAIN):
        room.book.note(room.on, room.tags[i], Kind.SHED)
    room.next_shed[i] = room.today + 70


def close_year(room: Room) -> None:
    """Write the true seasons of the year into the truth."""
    year = room.year
    assert year is not None
    for i in map(int, year.who):
        seasons, at = year.of(i)

        def on(name: str, seasons: Seasons = seasons, at: int = at) -> date | None:
            value = float(getattr(seasons, name)[at])
            return None if np.isnan(value) else seasons.on(value)

        dates = {
            n: on(n) for n in ("mm12", "mm25", "off_food", "reabsorbs", "ovulation", "prelay_shed", "laid")
        }
        fate = seasons.fate[at]
        record = SeasonTruth(
            room.tags[i], day_of(year.first_day).year, Fate(int(fate)), bool(year.exposed[at]), **dates
        )
        room.truth.seasons.append(record)
    room.truth.males += year.males.values()
