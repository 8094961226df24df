"""One animal's mass for drawing: weighings with the trust in each, the curve through them, the fan ahead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from eggtooth.engine.condition.growing import fan, growing
from eggtooth.engine.entries import Entry
from eggtooth.engine.history import History
from eggtooth.engine.spans import Z90
from eggtooth.jobs.gather import Source

Point = tuple[date, float, float, float]
"""A day with the 5, 50 and 95 % mass in grams."""


@dataclass(frozen=True, slots=True)
class Curve:
    """Weighings with the chance that each is a good one; mass at each of them; mass ahead by the week."""

    weighings: list[tuple[Entry, float]]
    past: list[Point]
    ahead: list[Point]


def mass_curve(source: Source, tag: str, on: date, days_ahead: int = 364) -> Curve:
    """The curve of one animal as known on a day. Raises `KeyError` for an unknown tag."""
    animal = source.colony.animals[tag]
    grown = growing([animal], [History(source.colony.of_animal(tag), on)], on)
    ahead = fan(grown, days_ahead)
    low, mid, high = (ahead.quantile_g(z)[0] for z in (-Z90, 0.0, Z90))
    points = [
        (on + timedelta(days=d), float(low[k]), float(mid[k]), float(high[k]))
        for k, d in enumerate(ahead.days)
    ]
    return Curve(grown.trust(0), grown.past(0), points)
