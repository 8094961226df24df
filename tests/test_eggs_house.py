"""A house's own incubation: the normal posterior by hand, and calibration in houses unlike the usual."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest

from eggtooth.engine.eggs.house import house_of, usual, worth_days
from eggtooth.engine.eggs.incubation import pip_days, warmth

LAID = date(2026, 3, 1)


def test_no_clutch_is_the_usual() -> None:
    assert house_of([]) == usual()
    warm = warmth(LAID, [], 31.5, LAID)
    assert pip_days(warm, 0, usual()) == pip_days(warm)


def test_one_clutch_by_hand() -> None:
    """Two normals: spreads 2.5 / 58.5 and 4 %; a clutch worth 62 days."""
    found = house_of([62.0])
    a, b = 1 / (2.5 / 58.5) ** 2, 1 / 0.04**2
    assert found.shift == pytest.approx(math.log(62 / 58.5) * b / (a + b))
    assert found.sd == pytest.approx((a + b) ** -0.5)


def test_a_mistyped_date_is_left_out() -> None:
    assert house_of([59.0, 5.0]) == house_of([59.0])


def test_days_at_31_5_are_worth_themselves_and_warm_days_more() -> None:
    assert worth_days([31.5] * 60) == pytest.approx(60)
    assert worth_days([33.0] * 60) > 60 > worth_days([29.0] * 60)


def test_intervals_hold_before_and_after_learning() -> None:
    """Houses drawn from the figure's own spread: 90 % hold 85 to 95 %, and narrow with clutches seen."""
    rng = np.random.default_rng(0)
    inside: dict[int, list[bool]] = {0: [], 12: []}
    width: dict[int, float] = {}
    warm = warmth(LAID, [], 31.5, LAID)
    for _ in range(400):
        centre = 58.5 * math.exp(rng.normal(0, 2.5 / 58.5))
        for known, hits in inside.items():
            house = house_of(centre * np.exp(rng.normal(0, 0.04, known)))
            days = pip_days(warm, 0, house)
            true = centre * math.exp(rng.normal(0, 0.04))
            hits.append(days[0] <= true <= days[4])
            width[known] = days[4] - days[0]
    for hits in inside.values():
        assert 0.85 <= np.mean(hits) <= 0.95
    assert width[12] < 0.8 * width[0]
