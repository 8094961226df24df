"""The season that was: the engine's answer in plain values, for pages and the command line."""

from __future__ import annotations

from datetime import date
from typing import Any

from eggtooth.engine.review import Review, Tally, Told, review_of
from eggtooth.jobs.clutches import span_json
from eggtooth.jobs.gather import Source


def look_back(source: Source, on: date, this_season: bool) -> Review:
    """The last finished season, or this one so far."""
    return review_of(source.colony, on, source.settings, this_season=this_season)


def as_json(review: Review) -> dict[str, Any]:
    """Tallies by milestone and weeks ahead, and every forecast told."""
    return {
        "season": {"from": review.start.isoformat(), "to": review.end.isoformat()},
        "tallies": [_tally(t) for t in review.tallies],
        "told": [_told(t) for t in review.told],
    }


def _tally(tally: Tally) -> dict[str, Any]:
    return {
        "what": tally.what.value,
        "weeks_ahead": tally.weeks_ahead,
        "n": tally.n,
        "share_in_50": round(tally.in_50 / tally.n, 4),
        "share_in_90": round(tally.in_90 / tally.n, 4),
        "error_days": round(tally.error_days, 2),
        "shift_days": round(tally.shift_days, 2),
        "width_90_days": round(tally.width_90_days, 1),
    }


def _told(told: Told) -> dict[str, Any]:
    return {
        "tag": told.tag,
        "what": told.what.value,
        "on": told.on.isoformat(),
        "forecast": span_json(told.span),
        "happened": told.happened.on.isoformat(),
    }
