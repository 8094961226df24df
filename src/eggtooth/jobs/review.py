"""The season that was: the engine's answer in plain values, for pages and the command line."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from eggtooth.engine.review import Review, Tally, Told, review_of
from eggtooth.engine.review.chances import Chance, Odds, by_weeks, odds_of, reliability
from eggtooth.engine.review.males import Males
from eggtooth.engine.review.numbers import Score
from eggtooth.jobs.clutches import span_json
from eggtooth.jobs.gather import Source


def look_back(source: Source, on: date, this_season: bool) -> Review:
    """The last finished season, or this one so far."""
    return review_of(source.colony, on, source.settings, this_season=this_season)


def as_json(review: Review) -> dict[str, Any]:
    """Tallies by milestone and weeks ahead, chances by weeks into the season and by tenths, numbers by weeks
    ahead, how the males' seasons ended, and every forecast told.
    """
    return {
        "season": {"from": review.start.isoformat(), "to": review.end.isoformat()},
        "tallies": [_tally(t) for t in review.tallies],
        "told": [_told(t) for t in review.told],
        "p_lays": _chances(review.chances),
        "numbers": [_score(s) for s in review.scores],
        "males": {name: list(getattr(review.males, name)) for name in Males.__slots__},
    }


def _chances(told: Sequence[Chance]) -> dict[str, Any] | None:
    """Brier score and reliability; null when no chance was told or the season still runs."""
    if not told:
        return None
    return {
        "all": _odds(odds_of(told)),
        "by_weeks_in": [{"weeks_in": w, **_odds(o)} for w, o in by_weeks(told).items()],
        "by_tenth": [{"tenth": t, **_odds(o)} for t, o in reliability(told).items()],
    }


def _odds(odds: Odds) -> dict[str, Any]:
    return {
        "n": odds.n,
        "animals": odds.animals,
        "said": round(odds.said, 4),
        "came": round(odds.came, 4),
        "brier": round(odds.brier, 4),
        "brier_of_share": round(odds.plain, 4),
    }


def _score(score: Score) -> dict[str, Any]:
    return {
        "what": score.what,
        "unit": score.unit,
        "weeks_ahead": score.weeks_ahead,
        "n": score.n,
        "animals": score.animals,
        "share_in_50": round(score.in_50 / score.n, 4),
        "share_in_90": round(score.in_90 / score.n, 4),
        "error": round(score.error, 2),
        "shift": round(score.shift, 2),
        "width_90": round(score.width_90, 2),
    }


def _tally(tally: Tally) -> dict[str, Any]:
    return {
        "what": tally.what.value,
        "weeks_ahead": tally.weeks_ahead,
        "n": tally.n,
        "animals": tally.animals,
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
