"""The season that was, worked out once and kept for as long as nothing noted of it changes."""

from __future__ import annotations

from datetime import date

from eggtooth.engine.review import Review
from eggtooth.jobs.gather import Source
from eggtooth.jobs.review import look_back

MOST_KEPT = 4
_kept: dict[tuple[object, ...], Review] = {}


def look_back_kept(source: Source, on: date, this_season: bool) -> Review:
    """As `look_back`. A page asks again and again for what takes seconds to work out; entries never change
    under their id, so the same ids, animals, settings and day give the same review.
    """
    key = _key(source, on, this_season)
    if key not in _kept:
        found = look_back(source, on, this_season)
        while len(_kept) >= MOST_KEPT:
            _kept.pop(next(iter(_kept)))
        _kept[key] = found
    return _kept[key]


def _key(source: Source, on: date, this_season: bool) -> tuple[object, ...]:
    colony, settings = source.colony, source.settings
    ids = frozenset(e.id for seen in colony.entries.values() for e in seen)
    told = on if this_season else settings.season_start(on)
    boxes = tuple(colony.incubators.values())
    return ids, tuple(colony.animals.values()), boxes, settings, told, this_season
