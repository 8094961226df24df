"""Incubator places against full enumeration and plain simulation."""

from __future__ import annotations

from datetime import date, timedelta
from functools import reduce

import numpy as np
import pytest

from eggtooth.engine.eggs.places import GROUP, Stay, by_day, chance_of_more, occupancy, present, quantiles
from eggtooth.engine.spans import Span
from tests.oracles.places import occupancy_of_a_day

FIRST = date(2026, 3, 1)


def stay(i: int, chance: float, comes: float, sd: float, long: float = 60) -> Stay:
    return Stay(
        f"F{i}",
        chance,
        Span.normal(FIRST, comes, sd),
        Span.normal(FIRST, comes + long, float(np.hypot(sd, 3))),
    )


def random_stays(seed: int, n: int) -> list[Stay]:
    rng = np.random.default_rng(seed)
    return [stay(i, rng.random(), rng.uniform(0, 80), rng.uniform(1, 15)) for i in range(n)]


@pytest.mark.parametrize("seed", range(6))
def test_equals_the_sum_over_all_combinations(seed: int) -> None:
    stays = random_stays(seed, 7)
    fast = occupancy(stays, FIRST, 150)
    here = np.stack([present(s, FIRST, 150) for s in stays], axis=1)
    for day in range(0, 150, 11):
        np.testing.assert_allclose(fast[day], occupancy_of_a_day(list(here[day])), atol=1e-12)


@pytest.mark.parametrize("n", [GROUP, GROUP + 1, 150, 300])
def test_many_clutches_are_those_of_one_group_and_one_more_by_one(n: int) -> None:
    """Halves joined by hand, by NumPy's own convolution."""
    stays = random_stays(n, n)
    fast = occupancy(stays, FIRST, 40)
    parts = [occupancy(stays[k : k + 10], FIRST, 40) for k in range(0, n, 10)]
    assert fast.shape == (40, n + 1) and np.all(fast >= 0)
    for day in range(0, 40, 13):
        np.testing.assert_allclose(fast[day], reduce(np.convolve, [p[day] for p in parts]), atol=1e-14)


def test_chance_of_running_out_is_the_upper_tail() -> None:
    p = occupancy(random_stays(1, 5), FIRST, 100)
    np.testing.assert_allclose(chance_of_more(p, 2), 1 - p[:, :3].sum(axis=1), atol=1e-12)
    assert np.all(chance_of_more(p, 5) == 0)
    assert np.all(quantiles(p, 0.05) <= quantiles(p, 0.95))


def test_a_clutch_seen_takes_one_place_until_it_leaves() -> None:
    there = Stay("F1", 1.0, Span.seen(FIRST - timedelta(days=5)), Span.seen(FIRST + timedelta(days=10)))
    here = present(there, FIRST, 20)
    assert list(here) == [1.0] * 10 + [0.0] * 10


def test_chance_by_day_follows_the_span() -> None:
    span = Span.normal(FIRST, 30, 6)
    chance = by_day(span, FIRST, 80)
    assert np.all(np.diff(chance) >= 0) and chance[0] == 0 and chance[-1] == 1
    for level, day in zip(
        (0.05, 0.25, 0.5, 0.75, 0.95), (span.q05, span.q25, span.q50, span.q75, span.q95), strict=True
    ):
        assert chance[(day - FIRST).days] == pytest.approx(level, abs=1e-9)
