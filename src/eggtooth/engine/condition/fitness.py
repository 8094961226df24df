"""Who is fit to breed, with what chance now, and from when: mass, age, past clutch, loss and signs
together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist

import numpy as np

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.condition.bars import Bar, bar_of
from eggtooth.engine.condition.growing import Fan, Growing, fan, growing
from eggtooth.engine.condition.growth import Floats
from eggtooth.engine.condition.readiness import MONTH_DAYS
from eggtooth.engine.entries import Entry
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.spans import Z90
from eggtooth.engine.wording import joined, say

HORIZON_DAYS = 5 * 364
NODES = 24
BEFORE_CLOSE_DAYS = 90
"""She must be ready this long before the season closes: 12 mm to ovulation takes about 80 days."""


@dataclass(frozen=True, slots=True)
class Ready:
    """One animal's readiness on a day.

    `mass_g` holds the 5, 50 and 95 % mass now; `p_now` the chance it is fit to breed now; `dates` the days
    by which it is fit with chance 5, 50 and 95 %, `None` beyond five years; `by`, `p_by` the last useful
    day of this season and the chance by then.
    """

    tag: str
    sex: Sex
    mass_g: tuple[float, float, float]
    p_now: float
    dates: tuple[date | None, date | None, date | None]
    by: date
    p_by: float
    why: str
    entries: tuple[Entry, ...]


def ready_all(colony: Colony, on: date, settings: Settings) -> list[Ready]:
    """Readiness of every male and female in the room, in the colony's order. Empty when there are none."""
    animals = [a for a in colony.here(on) if a.sex is not Sex.UNKNOWN and not (a.hatched and a.hatched > on)]
    if not animals:
        return []
    seen = [History(colony.of_animal(a.tag), on) for a in animals]
    return ready_of(growing(animals, seen, on), seen, settings)


def ready_of(grown: Growing, seen: Sequence[History], settings: Settings) -> list[Ready]:
    """Readiness from growth already learned. Cost: animals x weeks of the horizon x 24."""
    bars = [bar_of(grown, row, s, settings) for row, s in enumerate(seen)]
    ahead = fan(grown, HORIZON_DAYS)
    chance = _chances(ahead, bars)
    now = np.stack([np.exp(ahead.log_mass[:, 0] + z * ahead.sd[:, 0]) for z in (-Z90, 0.0, Z90)], axis=1)
    return [
        _ready(grown, ahead, chance[row], bars[row], row, (float(a), float(b), float(c)), settings)
        for row, (a, b, c) in enumerate(now)
    ]


def _chances(ahead: Fan, bars: Sequence[Bar]) -> Floats:
    """Chance of being fit by each day of the fan, [animals, days]; once fit counts as fit."""
    half, scale, least, sure = (
        np.array([getattr(b, name) for b in bars])[:, None]
        for name in ("half_g", "scale_g", "least_g", "sure")
    )
    total = np.zeros_like(ahead.log_mass)
    for i in range(NODES):
        grams = ahead.quantile_g(NormalDist().inv_cdf((i + 0.5) / NODES))
        by_mass = 1 / (1 + np.exp(-np.clip((grams - half) / scale, -50, 50)))
        ripe = np.where(grams >= biology.MALE_SURELY_UNRIPE.value, np.maximum(by_mass, sure), by_mass)
        total += np.where(grams >= least, ripe, 0.0)
    days = np.array(ahead.days)
    first = np.array([(b.not_before - ahead.on).days if b.not_before else 0 for b in bars])[:, None]
    return np.asarray(np.maximum.accumulate(np.where(days >= first, total / NODES, 0.0), axis=1), float)


def _ready(
    grown: Growing,
    ahead: Fan,
    chance: Floats,
    bar: Bar,
    row: int,
    mass_g: tuple[float, float, float],
    settings: Settings,
) -> Ready:
    animal = grown.animals[row]
    dates = tuple(_day_of(ahead, chance, p, bar.not_before) for p in (0.05, 0.5, 0.95))
    by = last_useful_day(settings, grown.on)
    p_by = float(np.interp((by - grown.on).days, ahead.days, chance))
    weighed = [e for e, w in grown.trust(row) if w > 0.5][-1:]
    why = _why(animal, grown, row, mass_g, bar, by, p_by, float(chance[0]))
    return Ready(
        animal.tag,
        animal.sex,
        mass_g,
        float(chance[0]),
        (dates[0], dates[1], dates[2]),
        by,
        p_by,
        why,
        (*weighed, *(e for e in bar.entries if e not in weighed)),
    )


def last_useful_day(settings: Settings, on: date) -> date:
    """The last day to be ready for the season that is on or comes next: 90 days before it closes."""
    closes = date(on.year, *settings.season_closes) - timedelta(days=BEFORE_CLOSE_DAYS)
    if closes >= on:
        return closes
    return date(on.year + 1, *settings.season_closes) - timedelta(days=BEFORE_CLOSE_DAYS)


def _day_of(ahead: Fan, chance: Floats, p: float, not_before: date | None) -> date | None:
    """First day on which the chance reaches `p`, by straight lines between steps; `None` beyond."""
    reached = np.flatnonzero(chance >= p)
    if not len(reached):
        return None
    k = int(reached[0])
    if k == 0:
        return ahead.on
    share = (p - chance[k - 1]) / (chance[k] - chance[k - 1])
    day = ahead.on + timedelta(days=round(ahead.days[k - 1] + share * (ahead.days[k] - ahead.days[k - 1])))
    return max(day, not_before) if not_before else day


def _why(
    animal: Animal,
    grown: Growing,
    row: int,
    mass: tuple[float, float, float],
    bar: Bar,
    by: date,
    p: float,
    now: float,
) -> str:
    weighed = any(w > 0.5 for _, w in grown.trust(row))
    parts: list[str] = [
        say("{mid:.0f} g ({low:.0f} to {high:.0f})", mid=mass[1], low=mass[0], high=mass[2])
        if weighed
        else say("never weighed; weigh it first")
    ]
    age = animal.age_days(grown.on)
    if age is not None:
        parts.append(
            say("{months:.0f} months old", months=age / MONTH_DAYS)
            if age < 1800
            else say("{years:.0f} years old", years=age / 365.25)
        )
    parts.append(say("one in two is ready at {half_g:.0f} g (our choice)", half_g=bar.half_g))
    parts += bar.reasons
    if now < 0.9:
        parts.append(say("{p:.0f} of 100 make it by {by:%-d %b %Y}, eating as of late", p=100 * p, by=by))
    if animal.sex is Sex.MALE and mass[1] >= biology.MALE_LAZY_FROM.value:
        parts.append(say("some grow lazy at this mass (common practice)"))
    return joined("; ", parts)
