"""True seasons of invented females, held against figures of the trade and of published work.

The world is invented; these tests hold its margins to what is known, so that the demo and the validation do
not run in a world that no keeper would recognise.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy import stats

from eggtooth.engine.simulate.follicle import rate_mm_day
from eggtooth.engine.simulate.season import (
    DAYS,
    Fate,
    Females,
    Luck,
    Seasons,
    draw_females,
    draw_luck,
    draw_seasons,
    seasons_from,
)
from eggtooth.engine.simulate.world import NARROW_FAST, WIDE, WORLDS, World

START = date(2025, 9, 1)
MANY = 4000


def seasons_of(world: World, seed: int = 3, exposed: bool = True) -> Seasons:
    rng = np.random.default_rng(seed)
    return draw_seasons(rng, world, draw_females(rng, MANY, world), START, exposed)


@pytest.fixture(scope="module")
def wide() -> Seasons:
    return seasons_of(WIDE)


def test_from_12_to_25_mm_takes_about_65_days(wide: Seasons) -> None:
    """About 6 mm a month from 12 to 25 mm, so two to two and a half months: common practice, no source."""
    assert 58 <= np.nanmedian(wide.mm25 - wide.mm12) <= 72


def test_spread_of_the_slow_phase_is_wide(wide: Seasons) -> None:
    """Coefficient of variation about 0.35, a choice of the fact sheet around a figure without a source."""
    logs = np.log((wide.mm25 - wide.mm12)[~np.isnan(wide.mm25)])
    assert 0.27 <= logs.std() <= 0.40


def test_from_25_mm_to_ovulation_takes_two_to_three_weeks(wide: Seasons) -> None:
    """25 to about 45 mm in two to three weeks: common practice, no source."""
    assert 14 <= np.nanmedian(wide.ovulation - wide.mm25) <= 21


def test_ovulation_to_shed_and_to_eggs(wide: Seasons) -> None:
    """Pre-lay shed 14 to 21 days after ovulation, eggs 44 to 50 after it: common practice, no source."""
    assert 14 <= np.nanmedian(wide.prelay_shed - wide.ovulation) <= 21
    assert 44 <= np.nanmedian(wide.laid - wide.ovulation) <= 51
    assert 4 <= np.nanstd(wide.laid - wide.ovulation) <= 6.5


def test_shed_to_eggs_is_about_a_month(wide: Seasons) -> None:
    """About 30 days, 95 % within 23 to 42: common practice, no source."""
    low, middle, high = np.nanpercentile(wide.laid - wide.prelay_shed, [2.5, 50, 97.5])
    assert 29 <= middle <= 33
    assert 21 <= low < 26
    assert 38 <= high <= 45


def test_eggs_come_around_april(wide: Seasons) -> None:
    """Eggs in April (Ellis & Chappell 1987, captive), spread some six weeks (a choice)."""
    assert wide.on(float(np.nanmean(wide.laid))).month == 4
    assert 35 <= np.nanstd(wide.laid) <= 50


def test_clutch_size(wide: Seasons) -> None:
    """Captive mean 5 to 6 (Ellis & Chappell 1987), wild 8.1 and 4 to 15 (Gorzula et al. 1997)."""
    assert 5 <= wide.eggs.mean() <= 8.1
    assert wide.eggs.min() >= 1
    assert wide.eggs.max() <= 15


def test_incubation_near_31_5_c(wide: Seasons) -> None:
    """55 to 60 days at 31 to 32 °C: common practice, no source; 58 to 70 in Ellis & Chappell 1987."""
    assert 55 <= np.nanmedian(wide.pip - wide.laid) <= 60


def test_seven_in_ten_lay(wide: Seasons) -> None:
    """Share that lays when paired and ready, Beta(7, 3): a choice; one of four reabsorbed in a 2016 study."""
    assert 0.64 <= np.mean(wide.fate == Fate.LAYS) <= 0.76


def test_fewer_lay_without_a_male() -> None:
    """A male's presence starts growth: DeNardo & Autumn 2001, related species (5 of 6 against 0 of 5)."""
    alone = seasons_of(WIDE, exposed=False)
    assert np.mean(alone.fate == Fate.LAYS) < 0.25


def test_dates_are_in_order() -> None:
    for world in WORLDS.values():
        s = seasons_of(world)
        lays = s.fate == Fate.LAYS
        line = np.array([s.mm12, s.mm25, s.ovulation, s.prelay_shed, s.laid, s.pip])[:, lays]
        assert not np.isnan(line).any()
        assert (np.diff(line, axis=0) > 0).all()
        assert np.isnan(np.array([s.ovulation, s.prelay_shed, s.laid, s.pip])[:, ~lays]).all()
        assert np.isnan(s.mm12[s.fate == Fate.NEVER_STARTS]).all()


def test_diameter_meets_its_own_dates(wide: Seasons) -> None:
    lays = np.flatnonzero(wide.fate == Fate.LAYS)[:60]
    for i in lays:
        at = np.array([wide.mm12[i], wide.mm25[i], wide.ovulation[i] - 1e-6])
        assert wide.diameter_mm(at)[i] == pytest.approx([12, 25, wide.ovulation_mm[i]], abs=0.35)


def test_reabsorbed_follicles_go_back_to_rest(wide: Seasons) -> None:
    gone = np.flatnonzero((wide.fate == Fate.REABSORBS_SMALL) | (wide.fate == Fate.REABSORBS_LARGE))
    for i in gone[:40]:
        later = wide.diameter_mm(np.array([wide.reabsorbs[i], wide.reabsorbs[i] + 100.0]))[i]
        assert later[0] > 12
        assert later[1] < 6


def test_growth_is_smooth_not_a_bend() -> None:
    """The rate rises steadily: nowhere does it change by more in half a millimetre than in the smooth curve.

    A hinge at 25 mm would put its whole change of rate (a factor of about seven) into one step.
    """
    mm = np.arange(8.0, 44.0, 0.5)
    one = (np.full(1, x) for x in (0.17, 1.36, 25.0, 2.2, 3.6))
    rate = rate_mm_day(mm, *one)
    steps = np.diff(np.log(rate))
    assert (steps > -1e-12).all()
    assert steps.max() < 0.15
    assert np.log(rate[-1] / rate[0]) > 1.8
    assert (np.abs(np.diff(steps)) < 0.03).all()


def test_diameter_by_day_has_no_jump_in_speed(wide: Seasons) -> None:
    """A hinge would change its speed by 0.8 to 0.9 of the greatest from one day to the next."""
    speed = np.diff(wide.diameter_mm(np.arange(0.0, 300.0))[wide.fate == Fate.LAYS], axis=1)
    change = np.nanmax(np.abs(np.diff(speed, axis=1)), axis=1) / np.nanmax(speed, axis=1)
    assert np.quantile(change, 0.99) < 0.35
    assert np.median(change) < 0.2


def test_rates_last_within_one_female() -> None:
    """Rates differ between females and persist within one over the years (our choice of how much)."""
    rng = np.random.default_rng(11)
    females = draw_females(rng, MANY, WIDE)
    one, two = (draw_seasons(rng, WIDE, females, START) for _ in range(2))
    slow = [np.log(s.mm25 - s.mm12) for s in (one, two)]
    both = ~np.isnan(slow[0] + slow[1])
    r = np.corrcoef(slow[0][both], slow[1][both])[0, 1]
    varying = WIDE.slow
    expected = varying.between**2 / (varying.between**2 + varying.within**2)
    assert r == pytest.approx(expected, abs=0.12)


def test_other_females_share_no_rates() -> None:
    rng = np.random.default_rng(12)
    one, two = (draw_seasons(rng, WIDE, draw_females(rng, MANY, WIDE), START) for _ in range(2))
    both = ~np.isnan(one.mm25 + two.mm25)
    assert abs(np.corrcoef((one.mm25 - one.mm12)[both], (two.mm25 - two.mm12)[both])[0, 1]) < 0.06


def test_narrow_fast_is_faster_and_narrower(wide: Seasons) -> None:
    fast = seasons_of(NARROW_FAST)
    ratio = np.nanmedian(wide.mm25 - wide.mm12) / np.nanmedian(fast.mm25 - fast.mm12)
    assert ratio == pytest.approx(7.5 / 6, rel=0.06)
    assert np.nanstd(np.log(fast.mm25 - fast.mm12)) < 0.62 * np.nanstd(np.log(wide.mm25 - wide.mm12))


def test_same_seed_same_seasons() -> None:
    one, two = seasons_of(WIDE, 5), seasons_of(WIDE, 5)
    assert np.array_equal(one.laid, two.laid, equal_nan=True)
    assert not np.array_equal(one.laid, seasons_of(WIDE, 6).laid, equal_nan=True)


def test_a_few_females_have_the_same_season_as_among_all() -> None:
    """Luck is drawn for all and handed to some, so a policy that breeds fewer changes nobody's luck."""
    rng = np.random.default_rng(8)
    females: Females = draw_females(rng, 50, WIDE)
    luck: Luck = draw_luck(rng, 50, WIDE)
    every = seasons_from(WIDE, females, luck, START, True)
    some = np.array([3, 17, 40])
    few = seasons_from(WIDE, females.some(some), luck.some(some), START, True)
    assert np.array_equal(every.laid[some], few.laid, equal_nan=True)


def test_meeting_a_male_changes_nothing_before_the_deciding_size() -> None:
    rng = np.random.default_rng(9)
    females, luck = draw_females(rng, 300, WIDE), draw_luck(rng, 300, WIDE)
    met, alone = (seasons_from(WIDE, females, luck, START, e) for e in (True, False))
    days = np.arange(0.0, 200.0)
    before = days[None, :] < met.decides[:, None] - 1
    assert np.allclose(met.diameter_mm(days)[before], alone.diameter_mm(days)[before])


def test_warm_rooms_grow_faster() -> None:
    """Growth follows the room's warmth: a clock that runs slower in midwinter than in late summer."""
    s = seasons_of(WIDE)
    pace = np.diff(s.warm)
    winter, summer = pace[(DAYS[1:] > 90) & (DAYS[1:] < 150)], pace[(DAYS[1:] > 270) & (DAYS[1:] < 330)]
    assert winter.mean() < summer.mean()


def test_ovulation_size_is_normal_about_44_mm(wide: Seasons) -> None:
    """Near 44 to 45 mm: common practice, no source; spread 3 mm is a choice."""
    z = (wide.ovulation_mm - 44) / 3
    assert stats.kstest(z, "norm").pvalue > 1e-3
