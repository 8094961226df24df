"""A hatchling's first shed and first meal: when, given that it has not happened yet."""

from __future__ import annotations

from datetime import date, timedelta

from eggtooth.engine.entries import Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.facts.fact import Spread
from eggtooth.engine.history import History
from eggtooth.engine.spans import LEVELS, Span


def first_shed(hatched: date, seen: History) -> Span:
    """Day of the first shed: as seen, else N(10, 2.5) days after hatching, later than today."""
    shed = seen.first(Kind.SHED, hatched)
    return Span.seen(shed.on) if shed else later_than(hatched, biology.HATCH_TO_FIRST_SHED.varies, seen.on)


def first_meal(hatched: date, seen: History) -> Span:
    """Day the first meal is taken: as seen, else a median of 16 days after hatching, later than today.

    Common practice: offered after the first shed; most take within three to five offers.
    """
    taken = next((e for e in seen.all(Kind.MEAL, hatched) if (e.value or 0) > 0), None)
    if taken:
        return Span.seen(taken.on)
    return later_than(hatched, biology.HATCH_TO_FIRST_MEAL.varies, seen.on)


def later_than(start: date, spread: Spread, on: date) -> Span:
    """`start` plus days drawn from a spread, given that it did not happen up to `on`.

    An event overdue beyond the spread's last 0.1 % is expected within the interval's own width.
    """
    passed = min(0.999, _share_before(spread, (on - start).days))
    return Span(
        *(max(on, start + timedelta(days=round(spread.quantile(passed + p * (1 - passed))))) for p in LEVELS)
    )


def _share_before(spread: Spread, days: float) -> float:
    """Share of a spread below a number of days, by halving."""
    if days <= 0:
        return 0.0
    low, high = 1e-6, 1 - 1e-6
    for _ in range(40):
        mid = (low + high) / 2
        low, high = (mid, high) if spread.quantile(mid) <= days else (low, mid)
    return low
