"""Incubation: published bands, the trade's band, and the distribution against plain simulation."""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eggtooth.engine.eggs.house import House
from eggtooth.engine.eggs.incubation import days_at, pip_chances, pip_date, pip_days, warmth
from eggtooth.engine.entries import Entry, Kind
from tests.oracles import pipping

LAID = date(2026, 3, 1)


def logged(celsius: list[float], start: date = LAID) -> list[Entry]:
    return [
        Entry(str(i), start + timedelta(days=i), None, "I1", Kind.TEMPERATURE, c, None)
        for i, c in enumerate(celsius)
    ]


def test_days_at_31_5_degrees() -> None:
    """58.5 days at a constant 31.5 °C: the project's own central figure."""
    assert days_at(31.5) == pytest.approx(58.5, abs=0.1)


def test_within_the_published_band_at_the_temperature_of_the_study() -> None:
    """Ellis & Chappell 1987: 58 to 70 days in captivity, oxygen use of the eggs measured at 29.2 °C."""
    assert days_at(29.2) == pytest.approx(66.4, abs=0.2)
    assert 58 <= days_at(29.2) <= 70


def test_overlaps_the_trade_band_at_31_to_32_degrees() -> None:
    """Common practice, no source: 55 to 60 days at 31 to 32 °C."""
    assert days_at(31) == pytest.approx(60.1, abs=0.2)
    assert days_at(32) == pytest.approx(56.9, abs=0.2)
    assert days_at(32) < 60 and days_at(31) > 55


def test_compiled_median_belongs_to_cooler_eggs() -> None:
    """Myhrvold et al. 2015 compile 67.8 days, temperature not stated; here that is 28.8 °C."""
    assert 31.5 - math.log(67.8 / 58.5) / 0.055 == pytest.approx(28.8, abs=0.1)
    assert days_at(28.8) == pytest.approx(67.8, abs=0.4)


def test_slope_against_water_pythons() -> None:
    """Shine et al. 1997 as tabulated in RepDevo: 80.0 and 67.97 days at 27.05 and 30.15 °C."""
    slope = math.log(67.97 / 80.0) / (30.15 - 27.05)
    assert slope == pytest.approx(-0.0526, abs=0.0005)
    assert math.exp(-10 * slope) == pytest.approx(1.69, abs=0.01)
    assert abs(-slope - 0.055) < 0.015
    assert days_at(30.15) / days_at(27.05) == pytest.approx(67.97 / 80.0, abs=0.015)


def test_alternate_days_at_30_and_33_degrees() -> None:
    """Summed daily rates, by arithmetic: between the two constants, about 58.3 days."""
    span = pip_date(LAID, logged([30.0, 33.0] * 60), 31.5, LAID + timedelta(days=119))
    days = (span.q50 - LAID).days
    assert days_at(33) < days < days_at(30)
    assert days == pytest.approx(58.3, abs=0.8)


def test_distribution_equals_plain_simulation() -> None:
    """Draw the figures, walk the days, count: the same quantiles within simulation error."""
    rng = np.random.default_rng(3)
    celsius = list(29 + 2 * np.sin(np.arange(200) / 9))
    warm = warmth(LAID, logged(celsius), 31.5, LAID + timedelta(days=199))
    n = 20_000
    worth = 58.5 * np.exp(rng.normal(0, math.hypot(2.5 / 58.5, 0.04), n))
    slope = rng.normal(0.055, 0.015, n)
    done = np.cumsum(np.exp(slope[:, None] * (np.array(celsius)[None, :] - 31.5)), axis=1)
    drawn = np.argmax(done >= worth[:, None], axis=1) + 1
    for n_days in (60, 66, 70, 76):
        assert pip_chances(warm)[n_days] == pytest.approx(np.mean(drawn <= n_days), abs=0.012)


@settings(max_examples=60)
@given(st.lists(st.floats(26, 35), max_size=120), st.integers(0, 210), st.floats(-0.1, 0.1))
def test_distribution_equals_its_slow_twin(noted: list[float], day: int, shift: float) -> None:
    warm = warmth(LAID, logged(noted), 31.5, LAID + timedelta(days=day))
    house = House(shift, 0.03, 9)
    assert pip_chances(warm, house) == pytest.approx(pipping.pip_chances(warm, house), abs=1e-7)


def test_warmer_is_sooner_and_unlogged_days_are_at_the_target() -> None:
    on = LAID + timedelta(days=30)
    cool = pip_date(LAID, logged([29.0] * 31), 31.5, on)
    plain = pip_date(LAID, [], 31.5, on)
    warm = pip_date(LAID, logged([32.5] * 31), 31.5, on)
    assert warm.q50 < plain.q50 < cool.q50
    assert (plain.q50 - LAID).days in (58, 59)


def test_a_clutch_that_has_not_pipped_pips_later() -> None:
    warm = warmth(LAID, [], 31.5, LAID + timedelta(days=62))
    assert pip_days(warm, 62)[0] >= 62
    assert pip_days(warm, 62)[2] > pip_days(warm)[2]


def test_spread_is_wider_where_the_slope_matters() -> None:
    def width(target: float) -> int:
        span = pip_date(LAID, [], target, LAID)
        return (span.q95 - span.q05).days

    assert width(27.0) > width(31.5)
