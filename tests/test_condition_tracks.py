"""From entries to the growth model: food, gaps, clutches, full bellies, sheds, sudden changes."""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest

from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.condition.growing import fan, growing
from eggtooth.engine.condition.intake import grams_eaten, prey_typical_g, usual_curve
from eggtooth.engine.condition.tracks import track_of
from eggtooth.engine.entries import Detail, Entry, Kind, Prey
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History

DAY0 = date(2025, 1, 1)
FEMALE = Animal("F1", Sex.FEMALE)
Noted = tuple[int, Kind, float | None, Detail]


def seen(day: int, *noted: Noted) -> History:
    entries = [
        Entry(str(i), DAY0 + timedelta(days=d), None, "F1", k, v, detail)
        for i, (d, k, v, detail) in enumerate(sorted(noted, key=lambda n: n[0]))
    ]
    return History(entries, DAY0 + timedelta(days=day))


def weights(*pairs: tuple[int, float]) -> list[Noted]:
    return [(d, Kind.WEIGHT, g, None) for d, g in pairs]


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("medium rat", 120),
        ("Medium rats", 120),
        ("rat pup", 10),
        ("mouse hopper", 10),
        ("adult mouse", 25),
        ("mice", 25),
        ("adult mouse or rat pup", 25),
        ("mouse hopper or rat pup", 10),
        ("mouse or rat fuzzy", 18),
        ("small or medium rat", (70 * 120) ** 0.5),
        ("two or three small rats", 70),
        ("weaned rat / small rat", (45 * 70) ** 0.5),
    ],
)
def test_prey_is_known_by_its_trade_name(text: str, grams: float) -> None:
    """Usual masses of prey: common practice, no source."""
    assert prey_typical_g(text) == pytest.approx(grams)


def test_every_size_the_round_offers_weighs_what_it_is_offered_for() -> None:
    low = 0
    for most, name in biology.PREY_G:
        grams = prey_typical_g(name)
        assert grams is not None and low < grams <= most, name
        low = most


@pytest.mark.parametrize("text", ["chick", "quail or chick", "or", "/", "", "rat or"])
def test_words_that_name_no_prey_tell_no_mass(text: str) -> None:
    assert prey_typical_g(text) is None


def test_noted_grams_come_before_names_and_a_refusal_is_nothing() -> None:
    meal = Entry("1", DAY0, None, "F1", Kind.MEAL, 2, Prey("medium rat", 95))
    assert grams_eaten(meal, 1500) == 190
    assert grams_eaten(meal._replace(value=0), 1500) == 0
    assert prey_typical_g("chick") is None
    assert 50 < grams_eaten(meal._replace(value=1, detail=None), 1000) < 120


def test_usual_growth_meets_the_published_first_year() -> None:
    """Ellis & Chappell 1987: mass times four in the first year; the trade says 300 to 500 g (no source)."""
    curve, _ = usual_curve()
    grams = [math.exp(curve[365 * y]) for y in (0, 1, 2, 3)]
    assert grams[1] / grams[0] >= 4
    assert 300 <= grams[1] <= 500 and 700 <= grams[2] <= 1000 and 1200 <= grams[3] <= 1600


def test_four_times_in_a_year_is_0_0038_a_day() -> None:
    """Ellis & Chappell 1987 with a 55 g hatchling (Myhrvold et al. 2015): 220 g, by arithmetic."""
    assert 55 * math.exp(0.00380 * 365) == pytest.approx(220, abs=1)
    assert math.log(4) / 365 == pytest.approx(0.00380, abs=0.00002)


def test_fasting_loses_what_was_measured() -> None:
    """McCue 2007: 18.3 % lost in 168 days without food, 817 g left of 1000; 7.0 % in 60 days."""
    assert 1000 * math.exp(168 * math.log(1 - 0.183) / 168) == pytest.approx(817, abs=2)
    refused: list[Noted] = [(d, Kind.MEAL, 0, None) for d in range(0, 168, 10)]
    step = track_of(FEMALE, seen(168, *weights((0, 1000), (168, 817)), *refused)).steps[-1]
    assert step.gain == 0
    assert 1000 * math.exp(step.drift) == pytest.approx(817, abs=25)
    assert 100 * (1 - math.exp(60 * math.log(1 - 0.183) / 168)) == pytest.approx(7.0, abs=0.1)


def test_nobody_noted_meals_means_usual_food_with_doubt() -> None:
    nothing = track_of(FEMALE, seen(60, *weights((0, 1000), (60, 1050)))).steps[-1]
    refused: list[Noted] = [(d, Kind.MEAL, 0, None) for d in range(0, 60, 10)]
    fasted = track_of(FEMALE, seen(60, *weights((0, 1000), (60, 950)), *refused)).steps[-1]
    assert nothing.gain > 0.2 and nothing.jump > 0
    assert fasted.gain == 0 and fasted.jump == 0


def test_a_clutch_takes_a_third() -> None:
    """Ellis & Chappell 1987: about 32 % of her mass before laying; 1500 g leave about 1020 g."""
    plain = track_of(FEMALE, seen(30, *weights((0, 1500), (30, 1000)))).steps[-1]
    laid = track_of(FEMALE, seen(30, *weights((0, 1500), (30, 1000)), (20, Kind.LAID, 5, None))).steps[-1]
    assert 1500 * math.exp(laid.drift - plain.drift) == pytest.approx(1020, abs=20)
    assert laid.jump > plain.jump


def test_a_full_belly_is_expected_on_the_scale() -> None:
    meal: Noted = (29, Kind.MEAL, 1, Prey("large rat", 200))
    full = track_of(FEMALE, seen(30, *weights((0, 1000), (30, 1150)), meal)).steps[-1]
    later = track_of(FEMALE, seen(45, *weights((0, 1000), (45, 1050)), meal)).steps[-1]
    assert full.surplus > 0.07 and full.error > later.error
    assert later.surplus == 0


def test_a_weighing_before_a_shed_counts_less() -> None:
    plain = track_of(FEMALE, seen(40, *weights((0, 1000), (30, 1000)))).steps[1]
    shed = track_of(FEMALE, seen(40, *weights((0, 1000), (30, 1000)), (34, Kind.SHED, None, None))).steps[1]
    assert shed.error > plain.error


def test_a_sudden_change_is_believed_when_confirmed() -> None:
    def mass(*pairs: tuple[int, float]) -> float:
        day = pairs[-1][0]
        return float(
            np.exp(
                growing([FEMALE], [seen(day, *weights(*pairs))], DAY0 + timedelta(days=day)).now.log_mass[0]
            )
        )

    before = ((0, 1500.0), (30, 1510.0), (60, 1505.0), (90, 1515.0))
    assert mass(*before, (120, 1080.0)) > 1400
    assert mass(*before, (120, 1080.0), (127, 1085.0)) == pytest.approx(1085, rel=0.03)


def test_an_impossible_database_mass_is_set_aside() -> None:
    """8858 g stands in a life-history database beside a female mass of 1235 g (Myhrvold et al. 2015)."""
    history = seen(100, *weights((0, 1900), (50, 8858), (90, 1920)))
    grown = growing([FEMALE], [history], DAY0 + timedelta(days=100))
    trusted = {e.value: w for e, w in grown.trust(0)}
    assert trusted[8858] < 0.001 and trusted[1900] > 0.9
    assert abs(math.exp(grown.now.log_mass[0]) - 1925) < 60


def test_no_data_gives_the_prior_and_a_fan() -> None:
    grown = growing([FEMALE, Animal("H1", hatched=DAY0)], [seen(0), seen(0)], DAY0)
    ahead = fan(grown, 364)
    assert np.all(np.isfinite(ahead.log_mass)) and np.all(np.diff(ahead.sd[1]) > 0)
    year = ahead.quantile_g(0.0)[1, -1]
    assert 250 < year < 430
    low, high = ahead.quantile_g(-1.645)[1, -1], ahead.quantile_g(1.645)[1, -1]
    assert low < 220 and high > 500


def test_a_row_does_not_depend_on_its_neighbours() -> None:
    a, b = seen(200, *weights((0, 500), (100, 700), (200, 900))), seen(200, *weights((150, 1200)))
    on = DAY0 + timedelta(days=200)
    alone = growing([FEMALE], [a], on)
    both = growing([FEMALE, FEMALE], [b, a], on)
    np.testing.assert_allclose(alone.now.mean[0], both.now.mean[1])
    assert [p[0] for p in alone.past(0)] == [p[0] for p in both.past(1)]


def test_without_animals_or_days_it_refuses() -> None:
    with pytest.raises(ValueError, match="no animals"):
        growing([], [], DAY0)
    with pytest.raises(ValueError, match="positive"):
        fan(growing([FEMALE], [seen(0)], DAY0), 0)
