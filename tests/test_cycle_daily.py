"""Chances by day against the spans told of the same season."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from eggtooth.engine.cycle.daily import daily_of, trimmed
from eggtooth.engine.cycle.evidence import evidence_of
from eggtooth.engine.cycle.forecast import DATES, told_of, worked
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History

START = date(2025, 9, 1)
ON = date(2026, 1, 20)


def told(*noted: tuple[str, Kind, float | None]) -> tuple:
    entries = [Entry(d, date.fromisoformat(d), None, "F1", k, v, None) for d, k, v in noted]
    block = worked([evidence_of(History(entries, ON), START)])
    return told_of(block)[0], daily_of(block)[0]


SCANNED = (("2025-12-20", Kind.SCAN, 20.0), ("2026-01-10", Kind.SCAN, 26.0))


@pytest.mark.parametrize("noted", [(), SCANNED, (*SCANNED, ("2026-01-18", Kind.OVULATION, None))])
def test_days_sum_to_one_and_cross_the_levels_on_the_dates_told(noted: tuple) -> None:
    outlook, daily = told(*noted)
    assert set(daily) == set(DATES)
    for name, days in daily.items():
        chance = np.array([p for _, p in days.days()])
        assert chance.sum() == pytest.approx(1, abs=1e-3)
        upto = np.cumsum(chance / chance.sum())
        span = outlook.dates[name]
        for level, day in ((0.05, span.q05), (0.5, span.q50), (0.95, span.q95)):
            found = days.first + timedelta(days=int((upto < level).sum()))
            assert abs((found - day).days) <= 1


def test_a_date_seen_has_its_whole_chance_on_one_day() -> None:
    _, daily = told(*SCANNED, ("2026-01-18", Kind.OVULATION, None))
    assert daily["ovulation"].first == date(2026, 1, 18) and daily["ovulation"].chance.tolist() == [1.0]


def test_no_chance_at_all_is_refused() -> None:
    with pytest.raises(ValueError, match="no chance"):
        trimmed(START, np.zeros(9))
