"""A breeding male's wear on hand-written histories (limits are common practice, no source, or our choice)."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from eggtooth.engine.condition.wear import Wear, WearState, rest_limit_days, wear_of
from eggtooth.engine.condition.weights import Mass, mass_then
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings

IN = date(2025, 11, 17)
SETTINGS = Settings()
Noted = tuple[int, Kind, float | None]


def wear(day: int, *noted: Noted, mass_g: float = 750, in_on: int = 0) -> Wear:
    """Wear so many days after the first night in; meals and weights by day from then."""
    base: list[Noted] = [
        (-10, Kind.WEIGHT, mass_g),
        (in_on, Kind.PAIRED, None),
        (in_on + 1, Kind.PARTED, None),
    ]
    entries = [
        Entry(
            str(i),
            IN + timedelta(days=d),
            None,
            "M1",
            k,
            v,
            "F1" if k in (Kind.PAIRED, Kind.PARTED) else None,
        )
        for i, (d, k, v) in enumerate(sorted([*base, *noted], key=lambda n: n[0]))
    ]
    return wear_of(History(entries, IN + timedelta(days=day)), SETTINGS)


def test_limits_lie_within_the_practice_and_grow_with_mass() -> None:
    limits = [rest_limit_days(SETTINGS, Mass(g, ())) for g in (500, 650, 750, 900, 1050, 1300)]
    assert limits == sorted(limits)
    assert all(60 <= x <= 90 for x in limits[1:]) and limits[-1] == 90
    assert 50 <= limits[0] < 60


def test_rested_at_the_limit_after_his_last_meal() -> None:
    before = wear(60, (0, Kind.MEAL, 1))
    after = wear(80, (0, Kind.MEAL, 1))
    assert before.state is WearState.WATCH and after.state is WearState.REST
    assert "rested from" in after.why


def test_no_meal_noted_counts_from_his_first_night() -> None:
    found = wear(75)
    assert found.state is WearState.REST and found.days_since_meal is None


def test_dramatic_loss_is_rested_at_once() -> None:
    found = wear(30, (25, Kind.MEAL, 1), (10, Kind.WEIGHT, 720), (28, Kind.WEIGHT, 630))
    assert found.state is WearState.REST and "lost 16 %" in found.why


def test_one_bad_weighing_does_not_rest_him() -> None:
    good = [(d, Kind.WEIGHT, 745.0 - d / 5) for d in (5, 12, 19, 26)]
    low = wear(34, (30, Kind.MEAL, 1), *good, (33, Kind.WEIGHT, 75))
    assert low.state is WearState.WATCH and "weigh again" in low.why
    high_start = wear(34, (30, Kind.MEAL, 1), *good, (-3, Kind.WEIGHT, 7500))
    assert high_start.state is WearState.FIT


def test_a_meal_amid_a_long_fast_does_not_hide_it() -> None:
    found = wear(105, (0, Kind.MEAL, 1), (62, Kind.MEAL, 1))
    assert found.days_since_meal == 43
    assert found.state is WearState.REST and "long fast" in found.why


def test_eating_again_ends_the_fast() -> None:
    meals = [(d, Kind.MEAL, 1.0) for d in (0, 62, 70, 78, 86, 94)]
    assert wear(105, *meals).state is WearState.FIT


def test_a_gain_shows_meals_nobody_noted() -> None:
    stopped = wear(75, (0, Kind.MEAL, 1), (20, Kind.WEIGHT, 740), (50, Kind.WEIGHT, 715))
    gained = wear(75, (0, Kind.MEAL, 1), (20, Kind.WEIGHT, 740), (50, Kind.WEIGHT, 790))
    assert stopped.state is WearState.REST
    assert gained.state is not WearState.REST and gained.days_since_meal == 55


def test_rest_by_narrows_and_holds_the_practice() -> None:
    fasting = wear(40, (0, Kind.MEAL, 1), (14, Kind.MEAL, 0), (21, Kind.MEAL, 0), (35, Kind.MEAL, 0))
    eating = wear(40, *((d, Kind.MEAL, 1.0) for d in range(0, 40, 7)))
    assert fasting.rest_by is not None and eating.rest_by is not None
    low, mid, high = ((d - IN).days for d in fasting.rest_by)
    assert 60 <= low < mid < high <= 90
    assert eating.rest_by[1] > fasting.rest_by[1]
    assert (eating.rest_by[2] - eating.rest_by[0]) > (fasting.rest_by[2] - fasting.rest_by[0])


def test_fast_loss_brings_rest_by_nearer() -> None:
    slow = [(d, Kind.WEIGHT, 750 - 0.8 * d) for d in (7, 14, 21, 28, 35)]
    fast = [(d, Kind.WEIGHT, 750 - 2.6 * d) for d in (7, 14, 21, 28, 35)]
    meal = (0, Kind.MEAL, 1.0)
    a, b = wear(36, meal, *slow).rest_by, wear(36, meal, *fast).rest_by
    assert a and b and b[1] < a[1]


def test_not_breeding_has_no_rest_by() -> None:
    noted = [Entry("1", IN, None, "M1", Kind.WEIGHT, 700, None)]
    found = wear_of(History(noted, IN + timedelta(days=5)), SETTINGS)
    assert found.rest_by is None and found.nights_in == 0


@pytest.mark.parametrize("nights", [1, 4])
def test_nights_and_locks_are_counted(nights: int) -> None:
    noted = [(d, k, None) for i in range(nights) for d, k in ((7 * i, Kind.PAIRED), (7 * i + 1, Kind.PARTED))]
    found = wear(40, (38, Kind.MEAL, 1), *noted, (1, Kind.LOCK, None), (1, Kind.LOCK, None))
    assert found.nights_in == nights and found.locks == 1


def test_a_slip_of_the_pen_does_not_put_off_his_rest() -> None:
    """A reading that cannot follow keeps him home for a weighing; past his limit he is rested."""
    found = wear(90, (0, Kind.MEAL, 1), (40, Kind.WEIGHT, 720), (88, Kind.WEIGHT, 71))
    assert found.state is WearState.REST and "last meal" in found.why


def test_the_meal_in_him_at_the_start_is_no_loss() -> None:
    """A weighing two days after a meal holds part of it (gone by day 6 to 8: Ott & Secor 2007)."""
    later: list[Noted] = [(d, Kind.WEIGHT, 660.0) for d in (40, 47, 54)]
    full = wear(55, (-12, Kind.MEAL, 1), (41, Kind.MEAL, 1), *later)
    empty = wear(55, (-30, Kind.MEAL, 1), (41, Kind.MEAL, 1), *later)
    assert full.loss is not None and empty.loss == pytest.approx(12.0, abs=0.1)
    assert 6 < full.loss < 11


def test_a_growing_male_is_not_taken_for_the_light_one_he_was() -> None:
    """His mass at the first night lies on the line between the weighings around it."""
    noted = [
        Entry("1", IN - timedelta(days=60), None, "M1", Kind.WEIGHT, 600, None),
        Entry("2", IN + timedelta(days=30), None, "M1", Kind.WEIGHT, 690, None),
    ]
    then = mass_then(History(noted, IN + timedelta(days=40)), IN, IN + timedelta(days=7))
    assert then is not None and then.mass_g == pytest.approx(660)
    fallen = mass_then(History([*noted[:1], noted[1]._replace(value=550.0)], IN + timedelta(days=40)), IN, IN)
    assert fallen is not None and fallen.mass_g == 600


def test_one_reading_far_off_is_not_his_mass_at_the_start() -> None:
    noted = [
        Entry(str(d), IN + timedelta(days=d), None, "M1", Kind.WEIGHT, g, None)
        for d, g in ((-30, 700), (-1, 900), (20, 705))
    ]
    then = mass_then(History(noted, IN + timedelta(days=30)), IN, IN + timedelta(days=7))
    assert then is not None and 695 <= then.mass_g <= 710
