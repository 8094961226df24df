"""A rough mass by day, good enough to weigh up meals: straight between weighings, then the usual curve."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from eggtooth.engine.condition.intake import usual_later
from eggtooth.engine.entries import Entry


@dataclass(frozen=True, slots=True)
class Level:
    """Log masses on ordinal days, in order."""

    days: Sequence[int]
    logs: Sequence[float]

    def at(self, day: int) -> float:
        """Log mass on an ordinal day."""
        k = bisect_right(self.days, day)
        if k == 0:
            return self.logs[0]
        if k == len(self.days):
            return usual_later(self.logs[-1], day - self.days[-1])
        share = (day - self.days[k - 1]) / (self.days[k] - self.days[k - 1])
        return self.logs[k - 1] + share * (self.logs[k] - self.logs[k - 1])

    def all_at(self, days: Sequence[int]) -> list[float]:
        """Log masses on ordinal days in order, one pass over both."""
        found, k, past = [], 0, len(self.days)
        for day in days:
            while k < past and self.days[k] <= day:
                k += 1
            if 0 < k < past:
                one, two = self.days[k - 1], self.days[k]
                share = (day - one) / (two - one)
                found.append(self.logs[k - 1] + share * (self.logs[k] - self.logs[k - 1]))
            else:
                found.append(self.at(day))
        return found


def level_of(weighings: Sequence[Entry], start: float, begins: int) -> Level:
    """The level from weighings, each the median of it and its neighbours; `start` stands on day `begins`."""
    if not weighings:
        return Level([begins], [start])
    raw = [math.log(e.value or 1.0) for e in weighings]
    logs = [median(raw[max(0, i - 1) : i + 2]) if 0 < i < len(raw) - 1 else raw[i] for i in range(len(raw))]
    days = [e.on.toordinal() for e in weighings]
    if begins < days[0]:
        days, logs = [begins, *days], [start, *logs]
    return Level(days, logs)
