"""The order of prey: the engine's answer in plain values, for pages and the command line."""

from __future__ import annotations

from datetime import date
from typing import Any

from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.feeders import Need, feeder_order
from eggtooth.jobs.gather import Source


def order(source: Source, on: date, weeks: int, kept: Kept | None = None) -> list[Need]:
    """Prey needed by week and size. Raises `ValueError` for no week or more than a year."""
    return feeder_order(source.colony.as_of(on), on, source.settings, weeks, kept)


def as_json(need: Need) -> dict[str, Any]:
    """One size in one week."""
    return {
        "week": need.week.isoformat(),
        "prey": need.prey,
        "number": {"q05": need.q05, "q50": need.q50, "q95": need.q95},
        "mean": round(need.mean, 3),
    }
