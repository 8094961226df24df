"""The trend of an animal's last weighings, by medians, so that one bad reading moves it little."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median

from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History

RECENT_DAYS = 42
LEAST_READINGS = 4


@dataclass(frozen=True, slots=True)
class Trend:
    """Mass on the last weighing's day by the trend, and the log change a day with its standard deviation."""

    on: date
    mass_g: float
    log_per_day: float
    sd: float
    entries: tuple[Entry, ...]


def trend_of(seen: History, within_days: int = RECENT_DAYS) -> Trend | None:
    """Median of the slopes between all pairs of weighings (Theil 1950, Sen 1968), drawn towards none.

    `None` with fewer than four weighings in the weeks before the last. Cost: the square of their number.
    """
    last = seen.last(Kind.WEIGHT)
    if last is None:
        return None
    recent = [e for e in seen.all(Kind.WEIGHT, last.on - timedelta(days=within_days)) if (e.value or 0) > 0]
    if len(recent) < LEAST_READINGS or (last.on - recent[0].on).days < 7:
        return None
    return _fitted(recent)


def _fitted(recent: Sequence[Entry]) -> Trend:
    last = recent[-1].on
    points = [((e.on - last).days, math.log(e.value or 1.0)) for e in recent]
    slopes = [
        (y1 - y0) / (x1 - x0) for i, (x0, y0) in enumerate(points) for x1, y1 in points[i + 1 :] if x1 > x0
    ]
    slope = median(slopes)
    level = median(y - slope * x for x, y in points)
    mean = sum(x for x, _ in points) / len(points)
    spread = sum((x - mean) ** 2 for x, _ in points) or 1.0
    sd = 1.1 * biology.WEIGHING_ERROR.value / 100 / math.sqrt(spread)
    return Trend(last, math.exp(level), slope, sd, tuple(recent))
