"""A short slice of the long validation of season dates: `python -m validation season_dates` is the whole."""

from __future__ import annotations

import numpy as np
import pytest
from validation._again import ratio_90
from validation._house import years
from validation._tally import Tally
from validation._verdicts import gain, near
from validation.season_dates import SCANS, measure

from eggtooth.engine.simulate.world import NARROW_FAST, WIDE


@pytest.mark.slow
@pytest.mark.parametrize("scan", [14, 0])
def test_dates_hold_beside_the_best_observer(scan: int) -> None:
    """60 days after males go in: 85 to 95 % inside, but for sampling error; error near the best possible."""
    made = years(WIDE, 4, 25, SCANS[scan], seed=5)
    told = measure(WIDE, SCANS[scan], 60, made, 40_000)
    room = 2.5 * np.sqrt(0.09 / len(told.error))
    assert all(0.85 - room <= share <= 0.95 + room for share in told.coverage().values()), told.coverage()
    assert told.to_best < 1.15
    assert told.to_plain < 1


@pytest.mark.slow
def test_a_house_that_grows_faster_and_varies_less_shows_it_within_its_season() -> None:
    """7.5 instead of 6 mm a month, half the spread, nothing learned before: 40 females teach each other."""
    made = years(NARROW_FAST, 3, 40, SCANS[14], seed=5)
    told = measure(NARROW_FAST, SCANS[14], 60, made, 40_000)
    assert min(told.coverage().values()) >= 0.85
    assert told.to_best < 1.15
    assert told.to_plain < 0.85


def tally_of(error: float, best: float, plain: float, n: int = 400) -> Tally:
    """Twenty houses whose mean errors are these, spread a little."""
    spread = np.random.default_rng(1).uniform(0.9, 1.1, n)
    whose = [i % 20 for i in range(n)]
    parts = {
        name: (value * spread).tolist()
        for name, value in (("error", error), ("best_error", best), ("plain_error", plain))
    }
    return Tally(error_of=whose, **parts)


def test_a_missed_gain_is_excused_by_the_best_observer_alone() -> None:
    """15 % below the plain rule: failed where the best observer surely reaches it, or we are far off."""
    assert gain(tally_of(0.84, 0.80, 1.0)) == []
    assert gain(tally_of(0.87, 0.80, 1.0))[0].startswith("FAILS")
    assert gain(tally_of(0.88, 0.86, 1.0))[0].startswith("OUT OF REACH")
    assert gain(tally_of(0.99, 0.86, 1.0))[0].startswith("FAILS")


def luckier(ratio: float, spread: float) -> Tally:
    """Twenty houses, in half of which the ratio of errors lies above and in half below this one."""
    of = [ratio * (1 + spread if i % 2 else 1 - spread) for i in range(20)]
    return Tally(error_of=list(range(20)), error=of, best_error=[1.0] * 20, plain_error=[2.0] * 20)


def test_a_bar_is_held_or_missed_only_by_a_whole_interval() -> None:
    """Near the bar of 1.10 with few houses nothing is decided, whichever side the figure itself lies on."""
    assert near(luckier(1.05, 0.01)) == []
    assert near(luckier(1.15, 0.01))[0].startswith("FAILS")
    assert near(luckier(1.09, 0.1))[0].startswith("UNDECIDED")
    assert near(luckier(1.11, 0.1))[0].startswith("UNDECIDED")
    unknown = luckier(1.15, 0.01)
    unknown.stranger_error = [1.12] * 20
    assert near(unknown)[0].startswith("OUT OF REACH")
    maybe = luckier(1.11, 0.1)
    maybe.stranger_error = [1.12] * 20
    assert near(maybe)[0].startswith("UNDECIDED")


def test_intervals_by_houses_are_those_of_the_mean() -> None:
    """Of 400 houses with a normal figure each, against the textbook's 1.645 standard errors."""
    rng = np.random.default_rng(4)
    house = np.repeat(np.arange(400), 5)
    value = 3 + rng.standard_normal(400)[house]
    low, high = ratio_90(value, np.ones(len(value)), house.tolist())
    error = value[::5].std() / 20
    np.testing.assert_allclose([low, high], value.mean() + np.array([-1.645, 1.645]) * error, atol=0.015)
