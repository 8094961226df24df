"""How the males hold up: the engine's answer in plain values, for pages and the command line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from eggtooth.engine.colony import Sex
from eggtooth.engine.condition.wear import Wear, wear_of
from eggtooth.engine.history import History
from eggtooth.jobs.gather import Source


@dataclass(frozen=True, slots=True)
class MaleWear:
    """One male and his wear."""

    tag: str
    wear: Wear


def males_of(source: Source, on: date) -> list[MaleWear]:
    """Every male in the room, in walking order of the tubs."""
    colony = source.colony
    males = [a for a in colony.here(on) if a.sex is Sex.MALE and not (a.hatched and a.hatched > on)]
    tubs = {a.tag: colony.tub_of(a.tag, on) for a in males}
    males.sort(key=lambda a: (tubs[a.tag] is None, tubs[a.tag] or ("", 0, 0), a.tag))
    return [MaleWear(a.tag, wear_of(History(colony.of_animal(a.tag), on), source.settings)) for a in males]


def as_json(male: MaleWear) -> dict[str, Any]:
    """One male; `rest_by` is null while he is not breeding."""
    wear = male.wear
    by = wear.rest_by
    return {
        "tag": male.tag,
        "loss_percent": None if wear.loss is None else round(wear.loss, 2),
        "days_since_meal": wear.days_since_meal,
        "nights_in": wear.nights_in,
        "locks": wear.locks,
        "rest_by": dict(zip(("q05", "q50", "q95"), (d.isoformat() for d in by), strict=True)) if by else None,
        "state": wear.state.value,
        "why": wear.why,
        "entries": [e.id for e in wear.entries],
    }
