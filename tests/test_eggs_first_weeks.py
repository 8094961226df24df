"""First shed and first meal of hatchlings (common practice, no source)."""

from __future__ import annotations

from datetime import date, timedelta

from eggtooth.engine.eggs.first_weeks import first_meal, first_shed
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History

HATCHED = date(2026, 6, 1)


def seen(day: int, *entries: tuple[int, Kind, float | None]) -> History:
    noted = [
        Entry(str(i), HATCHED + timedelta(days=d), None, "H1", k, v, None)
        for i, (d, k, v) in enumerate(entries)
    ]
    return History(noted, HATCHED + timedelta(days=day))


def test_first_shed_comes_7_to_14_days_after_hatching() -> None:
    span = first_shed(HATCHED, seen(0))
    assert 5 <= (span.q05 - HATCHED).days <= 7 and 13 <= (span.q95 - HATCHED).days <= 15


def test_what_was_seen_has_no_spread() -> None:
    span = first_shed(HATCHED, seen(12, (9, Kind.SHED, None)))
    assert span.q05 == span.q95 == HATCHED + timedelta(days=9)
    meal = first_meal(HATCHED, seen(30, (14, Kind.MEAL, 0), (19, Kind.MEAL, 1)))
    assert meal.q05 == meal.q95 == HATCHED + timedelta(days=19)


def test_what_has_not_come_yet_comes_later() -> None:
    fresh, late = first_meal(HATCHED, seen(0)), first_meal(HATCHED, seen(25, (14, Kind.MEAL, 0)))
    assert (fresh.q50 - HATCHED).days == 16
    assert late.q05 >= HATCHED + timedelta(days=25) and late.q50 > fresh.q50


def test_long_overdue_still_has_a_date_ahead() -> None:
    span = first_shed(HATCHED, seen(60))
    assert span.q05 >= HATCHED + timedelta(days=60)
