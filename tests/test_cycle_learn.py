"""Learning a house's rates: nothing from nothing, the truth from many seasons, and back again."""

from __future__ import annotations

import math
from datetime import date, timedelta
from functools import lru_cache

import numpy as np
import pytest
from scipy.optimize import minimize

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.fate_shares import learned_shares
from eggtooth.engine.cycle.learn import Learned, finished_seasons, learn
from eggtooth.engine.cycle.parameters import Parameter, parameters
from eggtooth.engine.cycle.prior import BENDS_MM, PRIOR, Rates, Trait, read, written
from eggtooth.engine.cycle.smoothing import fates
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.simulate.season import Seasons, draw_females, draw_seasons
from eggtooth.engine.simulate.sightings import log_of
from eggtooth.engine.simulate.world import WORLDS


@lru_cache(maxsize=2)
def house(name: str, years: int = 4, females: int = 50) -> tuple[list[Seasons], list[Evidence]]:
    """Finished years of an invented house: the truth, and what was noted."""
    rng = np.random.default_rng(3)
    truth, told = [], []
    for year in range(years):
        start = date(2020 + year, 9, 1)
        seasons = draw_seasons(rng, WORLDS[name], draw_females(rng, females, WORLDS[name]), start)
        logs = log_of(rng, seasons, 330)
        truth.append(seasons)
        told += finished_seasons([History(log, start + timedelta(days=400)) for log in logs], Settings())
    return truth, told


@lru_cache(maxsize=2)
def lesson(name: str) -> Learned:
    """What these years teach."""
    return learn(house(name)[1])


def by_name(learned: Learned) -> dict[str, Parameter]:
    """Figures by name."""
    return {p.name: p for p in parameters(learned)}


def test_no_season_changes_nothing() -> None:
    learned = learn([])
    assert learned.rates == PRIOR
    assert all(p.now == p.prior and p.n == 0 for p in parameters(learned))


@pytest.mark.slow
@pytest.mark.parametrize("name", ["wide", "narrow fast"])
def test_two_hundred_seasons_recover_the_truth(name: str) -> None:
    """The truth is no curve of the grid's; each figure's own 90 % interval is given a tenth on both sides."""
    truth, _ = house(name)
    told = by_name(lesson(name))
    joined = {
        n: np.concatenate([getattr(s, n) for s in truth]) for n in ("mm12", "mm25", "prelay_shed", "laid")
    }
    fates = np.concatenate([s.fate for s in truth])
    world = WORLDS[name]
    for figure, value in (
        ("day she reaches 12 mm", np.nanmean(joined["mm12"])),
        ("growth from 12 to 25 mm", 13 / np.nanmedian(joined["mm25"] - joined["mm12"])),
        ("ovulation to pre-lay shed", world.shed_days.centre),
        ("pre-lay shed to eggs", np.nanmedian(joined["laid"] - joined["prelay_shed"])),
        ("no follicles grow", np.mean(fates == 0)),
        ("reabsorbed below 20 mm, with a male", np.sum(fates == 1) / np.sum(fates > 0)),
        ("reabsorbed from 20 mm on", np.sum(fates == 2) / np.sum(fates > 1)),
    ):
        low, high = told[figure].now_90
        room = (high - low) / 10
        assert low - room <= value <= high + room, (figure, value, told[figure])
        assert high - low < told[figure].prior_90[1] - told[figure].prior_90[0]


@pytest.mark.slow
def test_a_house_of_like_females_learns_narrower_spreads() -> None:
    rates = lesson("narrow fast").rates
    world = WORLDS["narrow fast"]
    for name, drawn in (("slow", world.slow), ("turn", world.turn_mm), ("fast", world.fast)):
        true = float(np.hypot(drawn.between, drawn.within))
        assert getattr(rates, name).sd == pytest.approx(true, rel=0.25), name
    true = math.hypot(world.start.between, world.start.within, world.start_common_sd)
    assert rates.starts.sd == pytest.approx(true, rel=0.25)
    assert rates.whole_sd < 0.6 * PRIOR.whole_sd
    assert rates.seasons > 50


@pytest.mark.slow
def test_a_house_that_turns_gently_learns_so() -> None:
    assert lesson("gradual").rates.bend_mm == max(BENDS_MM)


def test_shares_of_fates_are_likeliest_with_the_priors_counts() -> None:
    """Equal to a search over all three shares at once, of the likelihood times the prior's twelve seasons."""
    rng = np.random.default_rng(5)
    by_class, fate = rng.random((30, 6)) ** 4, np.array([0, 0, 1, 1, 2, 3])
    found = [Evidence(date(2024, 9, 1), 300, met_male=True)] * 30
    rates, worth = learned_shares(found, by_class, fate, PRIOR, PRIOR)
    weighed = np.array([by_class[:, fate == f].sum(axis=1) for f in range(4)]).T / fates(found[0], PRIOR)
    names = ("never", "small", "large")

    def less_likely(odds: np.ndarray) -> float:
        never, small, large = shares = 1 / (1 + np.exp(-odds))
        goes_on = (1 - never) * (1 - small)
        chance = np.array([goes_on * (1 - large), (1 - never) * small, goes_on * large, never])
        before = np.array([getattr(PRIOR, n) for n in names])
        prior = 12 * (before * np.log(shares) + (1 - before) * np.log1p(-shares)).sum()
        return -float(np.log(weighed @ chance).sum() + prior)

    best = 1 / (1 + np.exp(-minimize(less_likely, np.full(3, -1.5), tol=1e-9).x))
    np.testing.assert_allclose([getattr(rates, n) for n in names], best, atol=2e-3)
    assert worth["never"] == pytest.approx(30) and rates.small_alone == PRIOR.small_alone


def test_the_order_of_seasons_does_not_matter() -> None:
    some = house("narrow fast", 2, 6)[1]
    assert learn(some[::-1]) == learn(some)


def test_few_seasons_move_little() -> None:
    few = house("narrow fast", 1, 4)[1]
    learned = learn(few)
    assert abs(learned.rates.slow.mean - PRIOR.slow.mean) < PRIOR.slow.sd
    assert 0 < max(learned.seasons.values()) <= 4


def test_only_years_that_are_over_teach() -> None:
    rng = np.random.default_rng(8)
    start = date(2024, 9, 1)
    log = log_of(rng, draw_seasons(rng, WORLDS["wide"], draw_females(rng, 1, WORLDS["wide"]), start), 330)[0]
    assert len(finished_seasons([History(log, date(2025, 8, 31))], Settings())) == 0
    assert [e.start for e in finished_seasons([History(log, date(2026, 3, 1))], Settings())] == [start]


def test_rates_are_read_as_written() -> None:
    rates = Rates(slow=Trait(-1.5, 0.2, True), never=0.1)
    assert read(written(rates)) == rates
    assert read("") == PRIOR
    for wrong in ("{", '{"slow": 1}', '{"nothing": 2}', "[]"):
        with pytest.raises(ValueError):
            read(wrong)
    with pytest.raises(ValueError, match="chance between"):
        Rates(never=1.2)
    with pytest.raises(ValueError, match="none or more"):
        Rates(seasons=-1.0)
