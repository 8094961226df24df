"""Who is fit to breed: the engine's answer in plain values, for pages and the command line."""

from __future__ import annotations

from datetime import date
from typing import Any

from eggtooth.engine.condition.fitness import Ready, ready_all
from eggtooth.jobs.gather import Source


def who_is_ready(source: Source, on: date) -> list[Ready]:
    """Readiness of every male and female in the room, in walking order of the tubs."""
    found = {r.tag: r for r in ready_all(source.colony.as_of(on), on, source.settings)}
    tubs = {tag: source.colony.tub_of(tag, on) for tag in found}
    return [found[t] for t in sorted(found, key=lambda t: (tubs[t] is None, tubs[t] or ("", 0, 0), t))]


def as_json(ready: Ready, on: date) -> dict[str, Any]:
    """One animal; a date is null when it lies beyond five years or never comes."""
    low, mid, high = ready.mass_g
    dates = {k: d.isoformat() if d else None for k, d in zip(("q05", "q50", "q95"), ready.dates, strict=True)}
    return {
        "tag": ready.tag,
        "sex": ready.sex.value,
        "mass_g": {"on": on.isoformat(), "q05": round(low, 1), "q50": round(mid, 1), "q95": round(high, 1)},
        "ready": {
            "p_now": round(ready.p_now, 6),
            "date": dates,
            "this_season": {"by": ready.by.isoformat(), "p": round(ready.p_by, 6)},
        },
        "why": ready.why,
        "entries": [e.id for e in ready.entries],
    }
