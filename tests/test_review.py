"""Past forecasts against what happened: nothing later than their day is used, and counts are right."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.condition.growing import fan, growing
from eggtooth.engine.cycle.forecast import forecast
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.review import Told, review_of, tallied
from eggtooth.engine.review.chances import Chance, by_weeks, laid_on, odds_of, reliability
from eggtooth.engine.simulate.colony import simulate_colony
from eggtooth.engine.spans import Span

SHED, LAID, PIPPED = date(2026, 2, 20), date(2026, 3, 22), date(2026, 5, 20)
NEXT_YEAR = date(2026, 10, 1)


def colony() -> Colony:
    noted = [
        (date(2025, 11, 20), Kind.SCAN, 14.0),
        (date(2025, 12, 20), Kind.SCAN, 20.0),
        (date(2026, 1, 20), Kind.SCAN, 34.0),
        (SHED, Kind.PRELAY_SHED, None),
        (LAID, Kind.LAID, 6.0),
        (PIPPED, Kind.PIPPED, 5.0),
    ]
    entries = [Entry(str(i), d, None, "F1", k, v, None) for i, (d, k, v) in enumerate(noted)]
    return Colony.of([Animal("F1", Sex.FEMALE), Animal("M1", Sex.MALE)], entries)


def test_the_last_finished_season_is_looked_at() -> None:
    found = review_of(colony(), NEXT_YEAR, Settings())
    assert (found.start, found.end) == (date(2025, 9, 1), date(2026, 8, 31))
    assert {t.what for t in found.told} == {Kind.PRELAY_SHED, Kind.LAID, Kind.PIPPED}


def test_each_forecast_is_what_was_known_that_day() -> None:
    entries = colony().of_animal("F1")
    for told in review_of(colony(), NEXT_YEAR, Settings()).told:
        assert told.on < told.happened.on
        if told.what is Kind.LAID:
            known = History([e for e in entries if e.on <= told.on], told.on)
            assert forecast([known], Settings())[0].dates["laid"] == told.span


def test_this_season_so_far_knows_nothing_later() -> None:
    found = review_of(colony(), date(2026, 4, 1), Settings(), this_season=True)
    assert {t.what for t in found.told} == {Kind.PRELAY_SHED, Kind.LAID}
    assert all(t.happened.on <= date(2026, 4, 1) for t in found.told)


def test_no_season_gives_no_tally() -> None:
    found = review_of(colony(), date(2025, 10, 1), Settings())
    assert found.told == () and found.tallies == ()


def told(days: int, late: int) -> Told:
    """A forecast told so many days before the eggs, whose 50 % span is ±3 and 90 % span ±7 days."""
    mid = LAID - timedelta(days=late)
    span = Span(*(mid + timedelta(days=d) for d in (-7, -3, 0, 3, 7)))
    return Told(
        "F1", Kind.LAID, LAID - timedelta(days=days), span, Entry("1", LAID, None, "F1", Kind.LAID, 6, None)
    )


def test_tallies_by_hand() -> None:
    (near, far) = tallied([told(7, 1), told(8, -5), told(13, 9), told(21, 0)])
    assert (near.weeks_ahead, near.n, near.in_50, near.in_90) == (1, 3, 1, 2)
    assert near.error_days == pytest.approx(5) and near.shift_days == pytest.approx(5 / 3)
    assert near.width_90_days == 14
    assert (far.weeks_ahead, far.n, far.in_90) == (3, 1, 1)


def test_chances_by_hand() -> None:
    """Brier 1950: the mean square of chance minus outcome; reliability by tenths; females counted once."""
    day = date(2026, 1, 1)
    told = [
        Chance("F1", day, 10, 0.9, True),
        Chance("F1", day, 14, 0.95, True),
        Chance("F2", day, 10, 0.2, False),
    ]
    odds = odds_of(told)
    assert (odds.n, odds.animals) == (3, 2)
    assert odds.brier == pytest.approx((0.1**2 + 0.05**2 + 0.2**2) / 3)
    assert odds.plain == pytest.approx(2 / 9)
    assert {t: o.n for t, o in reliability(told).items()} == {2: 1, 9: 2}
    assert {w: o.n for w, o in by_weeks(told).items()} == {10: 2, 14: 1}


def test_who_may_have_laid_unseen_is_not_scored() -> None:
    start, end = date(2025, 9, 1), date(2026, 8, 31)

    def laid(*noted: tuple[date, Kind]) -> object:
        entries = [Entry(str(i), d, None, "F1", k, 1, None) for i, (d, k) in enumerate(noted)]
        return laid_on(Colony.of([Animal("F1", Sex.FEMALE)], entries), "F1", start, end)

    assert laid((LAID, Kind.LAID)) == LAID
    assert laid((date(2026, 6, 1), Kind.WEIGHT)) == "no eggs"
    assert laid((date(2026, 1, 1), Kind.WEIGHT)) is None
    assert laid((date(2026, 6, 1), Kind.WEIGHT), (date(2026, 7, 1), Kind.SOLD)) is None


def test_the_whole_review_of_an_invented_season_knows_nothing_later() -> None:
    """Every part is there; chances and masses told are those the forecasts of that day give."""
    made = simulate_colony(np.random.default_rng(5), animals=14, years=1, until=date(2026, 9, 10))
    found = review_of(made.colony, date(2026, 9, 10), Settings())
    assert found.chances and {s.what for s in found.scores} == {"mass", "hatched"}
    assert all(n.on < n.happened.on for n in found.numbers)
    one = found.chances[len(found.chances) // 2]
    known = History(made.colony.of_animal(one.tag), one.on)
    assert forecast([known], Settings())[0].p_lays == pytest.approx(one.p, abs=1e-6)  # single precision
    mass = next(n for n in found.numbers if n.what == "mass")
    animal = made.colony.animals[mass.tag]
    grown = growing([animal], [History(made.colony.of_animal(mass.tag), mass.on)], mass.on)
    days = (mass.happened.on - mass.on).days
    ahead = fan(grown, days + 7)
    assert mass.told[2] == pytest.approx(np.exp(np.interp(days, ahead.days, ahead.log_mass[0])), rel=1e-6)
    assert 0.6 < sum(s.in_90 for s in found.scores) / sum(s.n for s in found.scores) <= 1
    rested = {t.tag for t in found.told if t.what is Kind.RESTED}
    assert rested <= set(found.males.rested)
    assert not set(found.males.rested) & set(found.males.with_season)


def test_a_running_season_has_no_chances_yet() -> None:
    assert review_of(colony(), date(2026, 4, 1), Settings(), this_season=True).chances == ()
