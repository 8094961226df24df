"""The season that was, worked out once and kept for as long as nothing noted of it changes."""

from __future__ import annotations

from datetime import date

from eggtooth.engine.review import Review
from eggtooth.jobs.gather import Source
from eggtooth.jobs.keeping_answers import Answers
from eggtooth.jobs.review import look_back

MOST_KEPT = 4
_reviews = Answers[Review](MOST_KEPT)


def look_back_kept(source: Source, on: date, this_season: bool) -> Review:
    """As `look_back`. A page asks again and again for what takes seconds to work out.

    A finished season is the same whatever the day it is looked back on.
    """
    colony, settings = source.colony, source.settings
    told = on if this_season else settings.season_start(on)
    return _reviews.to(colony, told, settings, lambda _: look_back(source, on, this_season), this_season)
