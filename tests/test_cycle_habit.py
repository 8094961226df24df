"""A female's own past seasons: nothing from nothing, drawn to what she showed, no narrower than her luck."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from eggtooth.engine.cycle.forecast import forecast
from eggtooth.engine.cycle.habit import own_rates
from eggtooth.engine.cycle.prior import PERSISTS, PRIOR
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.simulate.season import Fate, draw_females, draw_seasons
from eggtooth.engine.simulate.sightings import log_of
from eggtooth.engine.simulate.world import WIDE

SETTINGS = Settings()


def year_of(start: date, first_day: int, mm_day: float) -> list[Entry]:
    """A season scanned every two weeks from 12 mm on, with its milestones noted."""
    days = range(first_day, first_day + int(13 / mm_day) + 1, 14)
    scans = [(d, Kind.SCAN, 12 + mm_day * (d - first_day)) for d in days]
    ovulated = first_day + round(13 / mm_day) + 17
    ends = [
        (ovulated, Kind.OVULATION, None),
        (ovulated + 18, Kind.PRELAY_SHED, None),
        (ovulated + 49, Kind.LAID, 6.0),
    ]
    return [
        Entry(f"{start}{i}", start + timedelta(days=d), None, "F1", kind, value, None)
        for i, (d, kind, value) in enumerate([*scans, *ends])
    ]


def test_no_past_season_leaves_the_houses_rates() -> None:
    this_year = year_of(date(2025, 9, 1), 60, 0.2)
    assert own_rates(
        [History([], date(2026, 3, 1)), History(this_year, date(2026, 1, 1))], SETTINGS, PRIOR
    ) == [
        PRIOR,
        PRIOR,
    ]


@pytest.mark.parametrize(("first_day", "mm_day"), [(50, 0.28), (140, 0.15)])
def test_rates_are_drawn_to_what_she_showed(first_day: int, mm_day: float) -> None:
    once = year_of(date(2023, 9, 1), first_day, mm_day)
    twice = once + year_of(date(2024, 9, 1), first_day, mm_day)
    one, two = own_rates([History(e, date(2025, 12, 1)) for e in (once, twice)], SETTINGS, PRIOR)
    early = first_day < PRIOR.starts.mean
    assert (two.starts.mean < one.starts.mean < PRIOR.starts.mean) is early
    assert (two.slow.mean > one.slow.mean > PRIOR.slow.mean) is (mm_day > PRIOR.slow.centre)
    for name in ("starts", "slow", "turn", "fast"):
        house, hers = getattr(PRIOR, name).sd, getattr(two, name).sd
        assert np.sqrt(1 - PERSISTS) * house < hers < house


@pytest.mark.slow
def test_past_seasons_make_the_dates_better() -> None:
    """Lasting differences of invented females, seen over two years, tell of the third before it shows."""
    rng = np.random.default_rng(2)
    females = draw_females(rng, 40, WIDE)
    logs: list[list[Entry]] = [[] for _ in range(40)]
    for year in (2023, 2024):
        seasons = draw_seasons(rng, WIDE, females, date(year, 9, 1))
        for log, more in zip(logs, log_of(rng, seasons, 330), strict=True):
            log += more
    start = date(2025, 9, 1)
    truth = draw_seasons(rng, WIDE, females, start)
    seen = [
        History(a + b, start + timedelta(days=105))
        for a, b in zip(logs, log_of(rng, truth, 105), strict=True)
    ]
    errors = []
    for rates in (PRIOR, own_rates(seen, SETTINGS, PRIOR)):
        middle = [(o.dates["laid"].q50 - start).days for o in forecast(seen, SETTINGS, rates)]
        errors.append(np.abs(np.array(middle) - truth.laid)[truth.fate == Fate.LAYS].mean())
    assert errors[1] < errors[0]
