"""Who is fit to breed: the engine's answer in plain values, for pages and the command line."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from eggtooth.engine.condition.fitness import Ready, ready_all
from eggtooth.engine.kept import Kept
from eggtooth.jobs.gather import Source


def who_is_ready(source: Source, on: date, kept: Kept | None = None) -> list[Ready]:
    """Readiness of every male and female in the room, in walking order of the tubs.

    `kept` as for `round_for`.
    """
    known = source.colony.as_of(on)
    rests_on = {a.tag: (a, source.colony.of_animal(a.tag)) for a in known.here(on)}

    def ready(tags: list[str]) -> list[Ready | None]:
        some = replace(known, animals={tag: known.animals[tag] for tag in tags})
        told = {r.tag: r for r in ready_all(some, on, source.settings)}
        return [told.get(tag) for tag in tags]

    found = {r.tag: r for r in (kept or Kept()).each("ready", rests_on, ready) if r}
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
