"""What a house's females teach each other: equal to slow twins, nothing from nothing, the truth from many."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from functools import lru_cache

import numpy as np
import pytest

from eggtooth.engine.cycle.evidence import Evidence, Seen, evidence_of
from eggtooth.engine.cycle.forecast import forecast, outlooks
from eggtooth.engine.cycle.grid import Grid, Shape, grid_of
from eggtooth.engine.cycle.marginal import (
    TRAITS,
    UNITS,
    Lattice,
    Likelihood,
    by_class,
    lattice_of,
    likelihood,
)
from eggtooth.engine.cycle.one_house import COUNTS, House
from eggtooth.engine.cycle.prior import PRIOR, Rates
from eggtooth.engine.cycle.smoothing import log_lattice
from eggtooth.engine.cycle.together import taught
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.simulate.season import draw_females, draw_seasons
from eggtooth.engine.simulate.sightings import log_of
from eggtooth.engine.simulate.world import LATE_SLOW, NARROW_FAST, WIDE, World
from tests.oracles.together_season import bend_of, moved_by, peak_of, seen_by_cell, slope_of, weighed

START = date(2025, 9, 1)
COARSE = Shape(
    slow_z=(-1.0, 0.0, 1.0),
    turn_z=(-1.0, 1.0),
    fast_z=(-0.5, 1.0),
    fading_z=(-1.0, 1.0),
    small_mm=(14.0,),
    large_mm=(25.0,),
    first_start=50,
    starts=12,
    step=8,
    fasts_mm=(25.0,),
)


def house_of(n: int, seed: int = 1) -> list[Evidence]:
    """A few females with a scan or two, meals, and one with an ovulation."""
    rng = np.random.default_rng(seed)
    found = []
    for i in range(n):
        scans = [Seen(d, ("scan", float(rng.choice([8, 11.5, 14, 19])))) for d in (90, 110)[: 1 + i % 2]]
        meals = [Seen(120, ("meal", float(i % 2)))]
        found.append(Evidence(START, 150, (*scans, *meals), 145 if i == 2 else None, None, None, watched=140))
    return found


def lattice(found: list[Evidence], grid: Grid) -> Lattice:
    """In double precision."""
    return lattice_of(found, log_lattice(found, grid, np.float64), grid, [PRIOR] * len(found))


def at_house(told: Lattice, house: House, at: np.ndarray) -> Likelihood:
    """Likelihood of each female when the house is moved by `at`."""
    return likelihood(told, house.means + at[:TRAITS] * UNITS, house.within * np.exp(at[TRAITS:]))


def slow_of(e: Evidence, grid: Grid, within: np.ndarray) -> Callable[[np.ndarray], float]:
    """The slow twin's log likelihood of one female by how the house is moved."""
    cells = seen_by_cell(e, grid)
    return lambda at: weighed(e, cells, grid, moved_by(at, within))


def test_likelihood_and_its_derivatives_equal_the_slow_twins() -> None:
    grid, found = grid_of(COARSE), house_of(3)
    house, told = House([PRIOR] * 3), lattice(found, grid)
    at = np.array([0.3, -0.4, 0.2, 0.1, -0.2, 0.3, -0.1, 0.2])
    there, before = at_house(told, house, at), at_house(told, house, np.zeros(8))
    for i, e in enumerate(found):
        slow = slow_of(e, grid, house.within[i])
        np.testing.assert_allclose(there.value[i] - before.value[i], slow(at) - slow(np.zeros(8)), atol=1e-6)
        np.testing.assert_allclose(there.slope[i], slope_of(slow, at), atol=1e-5)
        np.testing.assert_allclose(there.bend[i], bend_of(slow, at), atol=1e-3)


def test_likelihood_class_by_class_adds_up_to_the_slow_twins() -> None:
    grid, found = grid_of(COARSE), house_of(3)
    house, told = House([PRIOR] * 3), lattice(found, grid)
    at = np.array([0.3, -0.4, 0.2, 0.1, -0.2, 0.3, -0.1, 0.2])
    value = np.log(by_class(told, *house.spreads(3, at)).sum(axis=1)) + told.log_scale
    slow = [slow_of(e, grid, house.within[i])(at) for i, e in enumerate(found)]
    np.testing.assert_allclose(value - value[0], np.array(slow) - slow[0], atol=1e-6)


def test_peak_equals_a_search_of_the_slow_twin_with_and_without_her() -> None:
    grid, found = grid_of(COARSE), house_of(6)
    house = House([PRIOR] * 6)
    peak, told = house.peak(lattice(found, grid))
    each = [slow_of(e, grid, house.within[0]) for e in found]

    def slow(at: np.ndarray, left_out: int = -1) -> float:
        value = sum(f(at) for i, f in enumerate(each) if i != left_out)
        return float(COUNTS * value - at @ house.precision @ at / 2)

    np.testing.assert_allclose(peak, peak_of(slow), atol=2e-3)
    without, _ = house.without(1, peak, told)
    exact = peak_of(lambda at: slow(at, 1))  # one step comes near it, in a house of six far off the facts
    assert np.abs(without - exact).max() < min(0.04, 0.3 * np.abs(peak - exact).max())


def test_a_female_alone_and_a_house_without_entries_keep_their_rates() -> None:
    one = house_of(1)
    assert taught(one, [PRIOR]) == [PRIOR]
    nothing = [Evidence(START, 100) for _ in range(5)]
    for rates in taught(nothing, [PRIOR] * 5):
        for name in ("starts", "slow", "turn", "fast"):
            assert getattr(rates, name).mean == pytest.approx(getattr(PRIOR, name).mean, abs=1e-3)


def test_two_females_move_each_other_little_and_never_themselves() -> None:
    """What she shows moves only the other: her own rates stay when hers alone tell anything."""
    told = Evidence(START, 120, (Seen(90, ("scan", 12.0)), Seen(118, ("scan", 24.0))), watched=118)
    hers, other = taught([told, Evidence(START, 120)], [PRIOR] * 2)
    assert abs(hers.slow.mean - PRIOR.slow.mean) < 0.03
    assert 0.01 < other.slow.mean - PRIOR.slow.mean < 0.5 * PRIOR.slow.sd


@lru_cache(maxsize=4)
def year(world: World, until: int = 150, n: int = 40) -> tuple[Evidence, ...]:
    """A house of an invented world as it stands on a season day."""
    rng = np.random.default_rng(4)
    logs = log_of(rng, draw_seasons(rng, world, draw_females(rng, n, world), START), until)
    return tuple(evidence_of(History(log, START + timedelta(days=until)), START) for log in logs)


def test_a_house_shows_its_own_rates_within_the_season() -> None:
    """7.5 mm a month and half the spread; a cool house three weeks late: half of it shows by mid season."""
    wide, fast, late = (taught(year(w), [PRIOR] * 40) for w in (WIDE, NARROW_FAST, LATE_SLOW))

    def mean(rates: list[Rates], name: str, part: str) -> float:
        return float(np.mean([getattr(getattr(r, name), part) for r in rates]))

    assert mean(fast, "slow", "mean") - mean(wide, "slow", "mean") > 0.5 * math.log(7.5 / 6)
    assert mean(fast, "slow", "sd") < 0.75 * mean(wide, "slow", "sd")
    assert mean(fast, "starts", "sd") < 0.75 * mean(wide, "starts", "sd")
    assert mean(late, "starts", "mean") - mean(wide, "starts", "mean") > 10
    assert mean(late, "slow", "mean") < mean(wide, "slow", "mean")
    assert mean(wide, "slow", "sd") == pytest.approx(PRIOR.slow.sd, rel=0.2)


def test_order_does_not_matter_and_days_are_houses_of_their_own() -> None:
    found = list(year(WIDE))
    turned = taught(found[::-1], [PRIOR] * 40)[::-1]
    assert turned == taught(found, [PRIOR] * 40)
    other_day = [replace(e, today=e.today + 1) for e in year(NARROW_FAST)]
    assert taught([*found, *other_day], [PRIOR] * 80)[:40] == turned


def test_two_houses_side_by_side_are_forecast_as_each_by_itself() -> None:
    """Houses of unlike spread, female by female in turn: each keeps its own waits."""
    one, other = list(year(WIDE)[:12]), [replace(e, today=e.today + 1) for e in year(NARROW_FAST)[:12]]
    mixed = [e for pair in zip(one, other, strict=True) for e in pair]
    both = outlooks(mixed, taught(mixed, [PRIOR] * 24))
    assert [o.dates for o in both[::2]] == [o.dates for o in outlooks(one, taught(one, [PRIOR] * 12))]
    assert [o.dates for o in both[1::2]] == [o.dates for o in outlooks(other, taught(other, [PRIOR] * 12))]


def test_few_may_teach_many() -> None:
    found = list(year(WIDE))
    few, everyone = taught(found, [PRIOR] * 40, teach=range(20)), taught(found, [PRIOR] * 40)
    assert few != everyone
    apart = [abs(a.starts.mean - b.starts.mean) for a, b in zip(few, everyone, strict=True)]
    assert max(apart) < 10


def test_the_bend_may_be_asked_of_fewer_than_teach(monkeypatch: pytest.MonkeyPatch) -> None:
    """A large house: not all females teach, and of those that do not all are asked for the bend."""
    found = year(WIDE, n=24)
    monkeypatch.setattr("eggtooth.engine.cycle.together.TELL_THE_BEND", 6)
    told = taught(found, [PRIOR] * 24, teach=range(12))
    monkeypatch.undo()
    everyone = taught(found, [PRIOR] * 24, teach=range(12))
    alike = [(few, one) for few, one in zip(told, everyone, strict=True) if few.bend_mm == one.bend_mm]
    assert len(alike) > 12 and all(few == one for few, one in alike)


def test_nothing_of_a_later_day_teaches() -> None:
    """The same house seen with entries of later days in its log gives the same forecast."""
    rng = np.random.default_rng(4)
    seasons = draw_seasons(rng, WIDE, draw_females(rng, 6, WIDE), START)
    logs, on = log_of(rng, seasons, 300), START + timedelta(days=130)
    cut = [[e for e in log if e.on <= on] for log in logs]
    whole, upto = ([History(log, on) for log in some] for some in (logs, cut))
    assert forecast(whole, Settings()) == forecast(upto, Settings())
