"""Gain and loss of mass in the invented house against measured fasts and the growth of the trade."""

from __future__ import annotations

import numpy as np
import pytest

from eggtooth.engine.simulate.body import Bodies


def body(mass_g: float, grown_g: float = 2350.0) -> Bodies:
    one = Bodies.empty(1)
    one.alive[:] = True
    one.tissue_g[:], one.grown_g[:] = mass_g, grown_g
    return one


def live(
    one: Bodies, days: int, every: int = 0, share: float = 0.0, takes: float = 1.0, seed: int = 1
) -> float:
    rng = np.random.default_rng(seed)
    for day in range(days):
        if every and day % every == 0 and rng.random() < takes:
            one.eat(0, share * float(one.tissue_g[0]))
        one.day()
    return float(one.scale_g()[0])


def test_168_days_without_food() -> None:
    """18.3 % lost in 168 days without food, with water: McCue 2007, at second hand."""
    assert 1 - live(body(1000), 168) / 1000 == pytest.approx(0.183, abs=0.025)


def test_60_days_without_food() -> None:
    """Less than 6 % of mass in two months without meals: Aubret et al. 2005 (brooding females).

    The invented snake has just eaten its last meal, so somewhat more is allowed.
    """
    assert 1 - live(body(1500), 60) / 1500 < 0.09


def test_first_year() -> None:
    """Four times the hatching mass (Ellis & Chappell 1987) to 500 g (common practice) at twelve months."""
    grown = [live(body(62), 365, 7, 0.12, 0.85, seed) for seed in range(12)]
    assert 200 < np.mean(grown) < 500


def test_a_spent_female_regains_her_mass() -> None:
    """Back within two to five months after the eggs: common practice, no source."""
    assert live(body(1150), 75, 7, 0.10, 0.95) < 1600 < live(body(1150), 180, 7, 0.10, 0.95)


def test_adults_hold_their_mass() -> None:
    assert live(body(1600), 365, 12, 0.07, 0.9) == pytest.approx(1600, rel=0.2)


def test_a_meal_shows_on_the_scale_and_passes() -> None:
    one = body(1500)
    one.eat(0, 150)
    assert one.scale_g()[0] == pytest.approx(1650)
    assert live(one, 10) < 1580


def test_the_dead_neither_gain_nor_lose() -> None:
    one = body(900)
    one.alive[:] = False
    assert live(one, 30) == 900
