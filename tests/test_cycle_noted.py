"""What is not noted: how often a house notes each milestone, and females that laid without any note."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from eggtooth.engine.cycle.evidence import Evidence, Seen, evidence_of
from eggtooth.engine.cycle.forecast import worked
from eggtooth.engine.cycle.grid import FINE, LEARN, MM, OFF_FOOD_SD_MM, Fate, grid_of
from eggtooth.engine.cycle.learn import learn
from eggtooth.engine.cycle.noted_shares import PRIOR_NOTES, noted_shares
from eggtooth.engine.cycle.prior import PRIOR, Rates
from eggtooth.engine.cycle.together import taught
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.simulate.season import Fate as True_
from eggtooth.engine.simulate.season import draw_females, draw_seasons
from eggtooth.engine.simulate.sightings import log_of
from eggtooth.engine.simulate.world import CARELESS
from tests.test_cycle_smoothing import START


def noted(rng: np.random.Generator, shares: tuple[float, float, float], watched: int) -> Evidence:
    """A female that ovulated, shed and laid in time, noted by these chances."""
    days = (200, 219, 249)
    at = [d if rng.random() < p and d <= watched else None for d, p in zip(days, shares, strict=True)]
    return Evidence(START, 330, (), *at, met_male=True, watched=watched)


def test_shares_noted_are_those_of_females_with_another_note() -> None:
    """Capture and recapture (Chapman 1951): those noted twice tell of those noted never."""
    true = (0.35, 0.55, 0.65)
    found = [noted(np.random.default_rng(i), true, 330) for i in range(2000)]
    told = noted_shares(found, PRIOR)
    for name, share in zip(("ovulation", "shed", "laid"), true, strict=True):
        assert told[f"{name}_noted"] == pytest.approx(share, abs=0.05)


def test_a_milestone_that_may_still_come_tells_nothing() -> None:
    """Watched until the day after the shed: eggs are not called missed, nor is a shed."""
    rng = np.random.default_rng(1)
    told = noted_shares([noted(rng, (1.0, 1.0, 0.9), 220) for _ in range(50)], PRIOR)
    assert told["laid_noted"] == pytest.approx(PRIOR.laid_noted)
    assert told["shed_noted"] == pytest.approx(PRIOR.shed_noted)
    assert told["ovulation_noted"] == pytest.approx(
        (PRIOR_NOTES * PRIOR.ovulation_noted + 50) / (PRIOR_NOTES + 50)
    )


def test_appetite_comes_back_after_eggs() -> None:
    """Off food from 25 mm, eating ten days after eggs (common practice, no source): the median class refuses
    for about 17 days to ovulation, 49 to eggs and ten more."""
    grid = grid_of(FINE)
    shape = grid.shape
    c = next(
        c
        for c in range(grid.lays)
        if (shape.slow_z[grid.levels[c, 0]], shape.turn_z[grid.levels[c, 1]], shape.fast_z[grid.levels[c, 2]])
        == (0.0, 0.0, 0.0)
    )
    start = int(np.argmin(np.abs(grid.starts - 90)))
    mm = np.array([MM[grid.appetite_on(d)[c, start]] for d in range(400)])
    off = np.flatnonzero(mm >= biology.OFF_FOOD_FROM.value)
    assert len(off) == off[-1] - off[0] + 1 == pytest.approx(76, abs=4)
    assert mm[off[-1] + 30] < biology.OFF_FOOD_FROM.value - 2 * OFF_FOOD_SD_MM


def test_eating_again_after_unnoted_eggs_is_no_reabsorption() -> None:
    """Scanned to 40 mm, then fed weekly and eating long after eggs would have come, nothing else noted."""
    scans = [Seen(d, ("scan", v)) for d, v in ((100, 14.0), (130, 20.0), (150, 26.0), (164, 40.0))]
    refused = [Seen(d, ("meal", 0.0)) for d in range(152, 226, 7)]
    eaten = [Seen(d, ("meal", 1.0)) for d in range(240, 330, 7)]
    seen = (*scans, *refused, *eaten)
    e = Evidence(START, 330, seen, met_male=True, not_before=165, watched=329)
    rates = Rates(ovulation_noted=0.37, shed_noted=0.57, laid_noted=0.67)
    assert worked([e], rates, LEARN).fates[0, Fate.LAYS] > 0.5


@pytest.mark.slow
def test_a_house_that_misses_a_third_learns_no_more_late_reabsorption_than_there_is() -> None:
    """180 seasons of which a third of the entries are missing (invented)."""
    rng, found, truth = np.random.default_rng(12), [], []
    for _ in range(3):
        seasons = draw_seasons(rng, CARELESS, draw_females(rng, 60, CARELESS), START)
        truth += list(seasons.fate)
        ends = START + timedelta(days=330)
        found += [evidence_of(History(log, ends), START) for log in log_of(rng, seasons, 330)]
    reached = [f for f in truth if f in (True_.REABSORBS_LARGE, True_.LAYS)]
    large = sum(f == True_.REABSORBS_LARGE for f in reached) / len(reached)
    told = learn(found).rates
    assert told.large == pytest.approx(large, abs=0.03)
    assert told.laid_noted == pytest.approx(2 / 3, abs=0.08)


def test_a_house_shows_within_its_season_how_often_it_notes() -> None:
    """Forty females, a shed noted of each and an ovulation of none: ovulations are noted less often here."""
    found = [
        Evidence(START, 260, (), None, 200 + i % 20, met_male=True, watched=255, nights=1) for i in range(40)
    ]
    told = taught(found, [PRIOR] * 40)
    expected = PRIOR_NOTES * PRIOR.ovulation_noted / (PRIOR_NOTES + 40)
    assert all(r.ovulation_noted == pytest.approx(expected) for r in told)
    assert taught(found[:1], [PRIOR]) == [PRIOR]
