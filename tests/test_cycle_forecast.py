"""The forecast against figures of the trade and of papers, and a particle filter of the same model."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from eggtooth.engine.cycle.evidence import evidence_of
from eggtooth.engine.cycle.fan import fan
from eggtooth.engine.cycle.forecast import DATES, STAGES, Outlook, forecast, worked
from eggtooth.engine.cycle.grid import Fate, fails_as
from eggtooth.engine.cycle.next_scan import next_scans
from eggtooth.engine.cycle.parameters import days_of_median
from eggtooth.engine.cycle.prior import PRIOR
from eggtooth.engine.entries import Entry, Kind, Prey, Sign
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from tests.oracles.particle_season import particle_dates

START = date(2025, 9, 1)
SETTINGS = Settings()
Note = tuple[int, Kind, float | None] | tuple[int, Kind, float | None, object]


def history(day: int, *notes: Note) -> History:
    """What was noted of a female, by season day."""
    entries = [
        Entry(str(i), START + timedelta(days=n[0]), None, "F1", n[1], n[2], n[3] if len(n) > 3 else None)  # type: ignore[arg-type]
        for i, n in enumerate(sorted(notes, key=lambda n: n[0]))
    ]
    return History(entries, START + timedelta(days=day))


def outlook(day: int, *notes: Note) -> Outlook:
    """The forecast on a season day."""
    return forecast([history(day, *notes)], SETTINGS)[0]


def spread(day: int, *notes: Note) -> dict[str, tuple[float, float]]:
    """Mean season day and standard deviation of the dates."""
    block = worked([evidence_of(history(day, *notes), START)])
    days = np.arange(block.dates.laid.shape[1])
    told = {}
    for name, p in (("ovulation", block.dates.ovulation[0]), ("laid", block.dates.laid[0])):
        mean = float(p @ days)
        told[name] = mean, float(np.sqrt(p @ (days - mean) ** 2))
    return told


def after(told: Outlook, name: str, day: int) -> int:
    """Days from a season day to the middle of a forecast date."""
    return (told.dates[name].q50 - START).days - day


def test_median_growth_is_that_of_the_trade() -> None:
    """12 to 25 mm at 6 mm a month is 65 days; 25 to 45 mm in 14 to 21 days (common practice, no source)."""
    slow, fast = days_of_median(PRIOR)
    assert slow == pytest.approx(65, abs=0.5)
    assert 14 <= fast * 20 / 19 <= 21


def test_follicle_is_large_from_20_mm() -> None:
    """J. Herpetol. Med. Surg. 26(3-4), 2016: dominant from 20 mm on."""
    assert fails_as(19.9) is Fate.SMALL
    assert fails_as(20.0) is Fate.LARGE


def test_ovulation_is_surer_the_larger_the_follicle() -> None:
    """Derived from the trade's growth: over three weeks of spread at 15 mm, at most five days at 35 mm."""
    sd = {mm: spread(130, (130, Kind.SCAN, float(mm)))["ovulation"][1] for mm in (15, 25, 35, 38)}
    assert sd[15] > sd[25] > sd[38]
    assert sd[15] >= 21 and sd[35] <= 5


def test_milestones_follow_the_trades_calendar() -> None:
    """Ovulation seen: shed 14 to 20 days on, eggs 44 to 50 (common practice); seen dates have no spread."""
    told = outlook(130, (130, Kind.OVULATION, None))
    assert 14 <= after(told, "prelay_shed", 130) <= 20
    assert 44 <= after(told, "laid", 130) <= 50
    assert 99 <= after(told, "pip", 130) <= 112
    seen = told.dates["ovulation"]
    assert seen.q05 == seen.q95 == START + timedelta(days=130)
    assert told.p_lays == pytest.approx(1)


@pytest.mark.parametrize(
    "guess", [(100, Kind.SCAN, 22.0), (120, Kind.SCAN, 38.0), (136, Kind.OVULATION, None)]
)
def test_after_the_shed_the_ovulation_guess_no_longer_matters(guess: Note) -> None:
    """Common practice: eggs about 31 days after the pre-lay shed, whatever was thought before."""
    told = outlook(150, guess, (150, Kind.PRELAY_SHED, None))
    bare = outlook(150, (150, Kind.PRELAY_SHED, None))
    assert abs(after(told, "laid", 150) - after(bare, "laid", 150)) <= 1
    assert after(told, "laid", 150) == pytest.approx(31, abs=1)


def test_eggs_are_surer_after_each_milestone() -> None:
    scanned = spread(130, (130, Kind.SCAN, 25.0))["laid"][1]
    ovulated = spread(130, (130, Kind.OVULATION, None))["laid"][1]
    shed = spread(148, (130, Kind.OVULATION, None), (148, Kind.PRELAY_SHED, None))["laid"][1]
    assert shed < ovulated < scanned


def test_no_data_gives_the_prior_not_a_blank() -> None:
    """Mid April with a spread of 45 days, and 0.7 of the paired ones lay (our choice)."""
    told = outlook(0)
    middle, laying = told.dates["laid"].q50, biology.LAYING_SEASON.value
    assert abs((middle - START).days - laying) <= 12
    assert (told.dates["laid"].q95 - told.dates["laid"].q05).days > 120
    assert sum(told.stages.values()) == pytest.approx(1) and set(told.stages) == set(STAGES)
    assert set(told.dates) == set(DATES)
    met = outlook(80, (78, Kind.PAIRED, None, "M1"))
    assert met.p_lays == pytest.approx(0.7, abs=0.05) and outlook(80).p_lays < met.p_lays


def test_soft_evidence_moves_the_dates_the_right_way() -> None:
    plain = spread(160, (110, Kind.SCAN, 18.0))["ovulation"][0]
    refused = [(d, Kind.MEAL, 0.0, Prey("medium rat")) for d in (128, 135, 142)]
    ate = [(d, Kind.MEAL, 1.0, Prey("medium rat")) for d in (128, 135, 142, 150, 157)]
    bowl = (140, Kind.SIGN, None, Sign.BOWL_WRAPPING)
    assert spread(160, (110, Kind.SCAN, 18.0), *refused)["ovulation"][0] < plain - 2
    assert spread(160, (110, Kind.SCAN, 18.0), *ate)["ovulation"][0] > plain + 2
    assert spread(160, (110, Kind.SCAN, 18.0), bowl)["ovulation"][0] < plain - 1
    swollen = spread(160, (110, Kind.SCAN, 18.0), (150, Kind.SIGN, None, Sign.SWELLING))["ovulation"]
    assert swollen[0] == pytest.approx(150, abs=4) and swollen[1] < 12
    shed = outlook(185, (110, Kind.SCAN, 20.0), (150, Kind.SHED, None))
    assert shed.stages["reabsorbed"] < 0.6


def test_refusals_before_an_ordinary_shed_are_not_going_off_food() -> None:
    refused = [(d, Kind.MEAL, 0.0, Prey("medium rat")) for d in (92, 99)]
    told = evidence_of(history(110, *refused, (103, Kind.SHED, None)), START)
    assert not told.follicles


def test_one_bad_scan_does_not_carry_the_day() -> None:
    good = [(d, Kind.SCAN, mm) for d, mm in ((60, 12.0), (74, 15.0), (88, 18.0), (116, 24.0))]
    with_bad = spread(120, *good, (102, Kind.SCAN, 8.0))["ovulation"][0]
    assert with_bad == pytest.approx(spread(120, *good)["ovulation"][0], abs=4)


def test_follicles_that_shrink_are_being_reabsorbed() -> None:
    """DeNardo & Autumn 2001: follicles that go no further are gone within about three months."""
    shrinking = [
        (d, Kind.SCAN, mm) for d, mm in ((60, 12.0), (80, 16.0), (100, 15.0), (120, 9.0), (140, 6.0))
    ]
    told = outlook(140, *shrinking)
    assert told.stages["reabsorbed"] > 0.9 and told.p_lays < 0.05


def test_a_slip_of_the_pen_is_left_out() -> None:
    """An ovulation noted after the shed cannot be; the later stage stands."""
    told = outlook(160, (150, Kind.PRELAY_SHED, None), (155, Kind.OVULATION, None))
    assert told.dates["ovulation"].q95 < START + timedelta(days=150)
    assert told.dates["prelay_shed"].q05 == START + timedelta(days=150)


def test_same_input_same_answer() -> None:
    some = [history(140, (100 + i, Kind.SCAN, 14.0 + i)) for i in range(7)]
    together, again = forecast(some, SETTINGS), forecast(some, SETTINGS)
    assert together == again
    apart, alone = forecast(some, SETTINGS, as_one_house=False)[3], forecast([some[3]], SETTINGS)[0]
    assert alone.dates == apart.dates and alone.p_lays == pytest.approx(apart.p_lays, abs=1e-6)


def test_forecast_agrees_with_a_particle_filter_of_the_same_model() -> None:
    notes: list[Note] = [
        (100, Kind.SCAN, 13.5),
        (114, Kind.SCAN, 15.0),
        (128, Kind.SCAN, 19.0),
        (135, Kind.MEAL, 0.0),
    ]
    evidence = evidence_of(history(140, *notes), START)
    told = spread(140, *notes)
    block = worked([evidence])
    found = particle_dates(evidence, np.random.default_rng(5), 40_000, 20)
    for ours, (mean, error) in (
        (told["ovulation"][0], found.ovulation),
        (told["laid"][0], found.laid),
        (float(block.fates[0, Fate.LAYS]), found.p_lays),
    ):
        assert abs(ours - mean) < 4 * error, (ours, mean, error)


def test_next_scan_is_nearer_the_larger_the_follicle() -> None:
    days = []
    for mm in (15.0, 20.0, 25.0, 30.0):
        found = next_scans(worked([evidence_of(history(130, (130, Kind.SCAN, mm)), START)]))[0]
        assert found is not None and found.sd_after_days < found.sd_now_days
        days.append((found.on - START).days - 130)
    assert days == sorted(days, reverse=True) and days[0] > days[-1]
    done = next_scans(worked([evidence_of(history(130, (130, Kind.OVULATION, None)), START)]))
    assert done == [None]


def test_fan_runs_through_the_scans_and_widens_ahead() -> None:
    seen = history(130, (102, Kind.SCAN, 13.0), (116, Kind.SCAN, 16.0), (130, Kind.SCAN, 19.0))
    days = [START + timedelta(days=d) for d in (102, 116, 130, 144)]
    told = fan(seen, SETTINGS, days)
    assert np.all(np.diff(told.mm, axis=1) >= 0)
    assert np.all(np.abs(told.mm[:3, 2] - [13, 16, 19]) < 1.5)
    assert np.ptp(told.mm[3]) > np.ptp(told.mm[2])
    with pytest.raises(ValueError, match="drawn from"):
        fan(seen, SETTINGS, [START - timedelta(days=9)])
