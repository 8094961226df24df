"""Hatching success against plain arithmetic and published counts."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy.stats import betabinom

from eggtooth.engine.eggs.hatching import hatch_of, temperature_share, warm_share
from eggtooth.engine.eggs.incubation import warmth
from tests.test_eggs_incubation import logged


@pytest.mark.parametrize("eggs", [0, 1, 6, 12])
def test_candled_eggs_follow_the_beta_binomial(eggs: int) -> None:
    found = hatch_of(eggs, candled=True)
    np.testing.assert_allclose(found.p, betabinom.pmf(np.arange(eggs + 1), eggs, 17, 3), atol=0.004)
    assert sum(found.p) == pytest.approx(1)
    assert found.mean == pytest.approx(0.85 * eggs, abs=0.02 * max(1, eggs))


def test_eggs_only_laid_may_be_infertile() -> None:
    laid, candled = hatch_of(6), hatch_of(6, candled=True)
    assert laid.mean == pytest.approx(0.95 * 0.9 * 0.85 * 6, abs=0.05)
    assert laid.p[0] > 0.05 > candled.p[0]
    assert laid.quantile(0.05) == 0 and laid.quantile(0.5) == 5


def test_fewer_hatch_where_water_pythons_hatched_fewer() -> None:
    """Shine et al. 1997 via RepDevo: 0.68 of 56 eggs at 30.15 °C, 0.59 of 27 at 27.05 °C."""
    assert pytest.approx(0.68, abs=0.005) == 38 / 56
    assert pytest.approx(0.59, abs=0.005) == 16 / 27
    assert temperature_share(27.05) < temperature_share(30.15)


def test_limits_of_temperature() -> None:
    """Common practice, no source: 31 to 32 °C wanted, not under 28 nor over 33.3 °C for long."""
    assert temperature_share(31.5) == 1
    assert temperature_share(28) < 0.9 and temperature_share(33.5) < 0.9
    assert temperature_share(24) == temperature_share(36) == 0


def test_a_short_spike_costs_little_and_steady_heat_much() -> None:
    laid, end = date(2026, 3, 1), date(2026, 5, 1)
    spike = warm_share(warmth(laid, logged([31.5] * 20 + [34.5] + [31.5] * 40), 31.5, end))
    steady = warm_share(warmth(laid, logged([34.5] * 61), 31.5, end))
    assert spike > 0.97 and steady < 0.6


def test_a_negative_count_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot hatch"):
        hatch_of(-1)
