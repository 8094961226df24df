"""The date by which a breeding male must rest, with its spread: days without food and loss, whichever is
first.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist

from eggtooth.engine.condition.trend import Trend
from eggtooth.engine.facts import biology
from eggtooth.engine.facts.fact import LogNormal, Normal

STANDARD = NormalDist()
FARTHEST_DAYS = 400
NODES = 7


@dataclass(frozen=True, slots=True)
class Asked:
    """What the span rests on.

    `counted_from`: his last meal. `first_in`: his first night in, when he still eats; then the count may
    start later, about 60 days into the season. `limit_days` without a meal for one of his mass, within
    `range_days`. `trend` of his mass and `dramatic_g`, the mass at which he is rested at once.
    """

    on: date
    counted_from: date
    first_in: date | None
    limit_days: float
    range_days: tuple[float, float]
    trend: Trend | None
    dramatic_g: float | None


def rest_span(asked: Asked, levels: Sequence[float] = (0.05, 0.5, 0.95)) -> list[date]:
    """The dates at `levels` of the day he must rest. Cost: some 9 evaluations of the chance a level."""
    start = min(asked.counted_from, asked.on)
    pauses = _pauses(asked)

    def chance(days: int) -> float:
        return _must_rest(asked, start + timedelta(days=days), pauses)

    return [start + timedelta(days=bisect_left(range(FARTHEST_DAYS), p, key=chance)) for p in levels]


def _must_rest(asked: Asked, day: date, pauses: tuple[float, ...]) -> float:
    """Chance that he must rest by a day: by days without food or by loss, taken as independent."""
    days = (day - asked.counted_from).days
    hungry = sum(by_fasting(days - p, asked.limit_days, asked.range_days) for p in pauses) / len(pauses)
    return 1 - (1 - hungry) * (1 - by_loss(day, asked.trend, asked.dramatic_g))


def _pauses(asked: Asked) -> tuple[float, ...]:
    """Days from his last meal to when he stops eating: none if he has; else equally likely ones."""
    if asked.first_in is None:
        return (0.0,)
    spread = biology.MALE_STOP_SPREAD.varies
    assert isinstance(spread, LogNormal)
    in_for = (asked.on - asked.first_in).days
    gone = STANDARD.cdf(math.log(max(1, in_for) / spread.median) / spread.sigma)
    stops = (spread.quantile(min(gone + (1 - gone) * (i + 0.5) / NODES, 0.995)) for i in range(NODES))
    since_meal = (asked.on - asked.counted_from).days
    return tuple(since_meal + max(0.0, s - in_for) if s - in_for >= 1 else 0.0 for s in stops)


def by_fasting(days: float, limit: float, within: tuple[float, float]) -> float:
    """Chance that a male must rest by so many days without food: normal about the limit, cut to the range."""
    spread = biology.MALE_ENDURANCE_SD.varies
    assert isinstance(spread, Normal)
    low, high = min(within[0], limit), within[1]
    if days < low or high <= low:
        return 1.0 if days >= low else 0.0
    normal = NormalDist(limit, spread.sd)
    return 1.0 if days >= high else normal.cdf(days) - normal.cdf(low) * (high - days) / (high - low)


def by_loss(day: date, trend: Trend | None, dramatic_g: float | None) -> float:
    """Chance that his mass is under `dramatic_g` by a day: the trend, joined with the usual loss of fasting
    males.
    """
    if trend is None or dramatic_g is None or day < trend.on:
        return 0.0
    usual = biology.MALE_SEASON_LOSS.varies
    assert isinstance(usual, Normal)
    weight = usual.sd**2 / (usual.sd**2 + trend.sd**2)
    slope = min(0.0, -usual.mean + weight * (trend.log_per_day + usual.mean))
    slope_sd = math.sqrt(weight) * trend.sd
    days = (day - trend.on).days
    sd = math.hypot(0.012, slope_sd * days)
    return STANDARD.cdf((math.log(dramatic_g / trend.mass_g) - slope * days) / sd)
