"""Clutches and incubator places: the engine's answer in plain values, for pages and the command line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.clutches import Clutch, clutches_on
from eggtooth.engine.planning.places import PlacesDay, places_ahead
from eggtooth.engine.spans import Span
from eggtooth.jobs.forecast import outlooks_on
from eggtooth.jobs.gather import Source


@dataclass(frozen=True, slots=True)
class Eggs:
    """Clutches that lie, places there are, and the places wanted day by day."""

    on: date
    clutches: list[Clutch]
    places: int
    days: list[PlacesDay]

    @property
    def worst(self) -> PlacesDay | None:
        """The day with the highest chance of running out; of equals the one that wants most."""
        return max(self.days, key=lambda d: (d.p_short, d.q95, d.q50), default=None)


def eggs_of(source: Source, on: date, kept: Kept | None = None) -> Eggs:
    """Everything about eggs on a day; `kept` as for `round_for`."""
    colony = source.colony.as_of(on)
    places = sum(b.places for b in colony.incubators.values())
    kept = kept or Kept()
    found = clutches_on(colony, on, source.settings, kept)
    days = places_ahead(colony, on, source.settings, outlooks=outlooks_on(source, on, kept), kept=kept)
    return Eggs(on, found, places, days)


def as_json(eggs: Eggs) -> dict[str, Any]:
    """Clutches and places; a place is one clutch's."""
    worst = eggs.worst
    return {
        "on": eggs.on.isoformat(),
        "clutches": [_clutch(c) for c in eggs.clutches],
        "places": eggs.places,
        "worst_day": {"date": worst.on.isoformat(), "p_short": round(worst.p_short, 6)} if worst else None,
        "days": [
            {
                "date": d.on.isoformat(),
                "q05": d.q05,
                "q50": d.q50,
                "q95": d.q95,
                "p_short": round(d.p_short, 6),
            }
            for d in eggs.days
        ],
    }


def _clutch(clutch: Clutch) -> dict[str, Any]:
    hatch = clutch.hatch
    return {
        "dam": clutch.dam,
        "laid": clutch.laid.on.isoformat(),
        "eggs": clutch.eggs,
        "pip": span_json(clutch.pip),
        "hatch": {q: hatch.quantile(p) for q, p in (("q05", 0.05), ("q50", 0.5), ("q95", 0.95))},
        "hatch_mean": round(hatch.mean, 3),
        "why": clutch.why,
    }


def span_json(span: Span) -> dict[str, str]:
    """A date with its quantiles."""
    return {name: getattr(span, name).isoformat() for name in ("q05", "q25", "q50", "q75", "q95")}
