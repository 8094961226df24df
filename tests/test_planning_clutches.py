"""Clutches in the incubators and places to come, on hand-written houses."""

from __future__ import annotations

import math
from dataclasses import astuple
from datetime import date, timedelta

import numpy as np

from eggtooth.engine.colony import Animal, Colony, Incubator, Sex
from eggtooth.engine.cycle.forecast import Outlook
from eggtooth.engine.entries import Detail, Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.clutches import clutches_on
from eggtooth.engine.planning.places import places_ahead, stays_of
from eggtooth.engine.spans import Span
from tests.oracles.places import seasons_drawn

ON = date(2026, 4, 1)
Noted = tuple[str, int, Kind, float | None, Detail]


def house(*noted: Noted, females: int = 3, places: int = 2) -> Colony:
    entries = [
        Entry(str(i), ON + timedelta(days=d), None, tag, k, v, detail)
        for i, (tag, d, k, v, detail) in enumerate(noted)
    ]
    animals = [Animal(f"F{n}", Sex.FEMALE, hatched=date(2020, 1, 1)) for n in range(females)]
    return Colony.of(animals, entries, incubators=[Incubator("I1", places, 31.5)])


def test_a_clutch_lies_until_it_hatched_or_was_lost() -> None:
    laid: Noted = ("F0", -20, Kind.LAID, 6, 1)
    assert [c.dam for c in clutches_on(house(laid), ON, Settings())] == ["F0"]
    assert not clutches_on(house(laid, ("F0", -2, Kind.HATCHED, 6, None)), ON, Settings())
    assert not clutches_on(house(laid, ("F0", -2, Kind.EGGS, 0, "lost")), ON, Settings())


def test_candling_narrows_the_count() -> None:
    laid: Noted = ("F0", -20, Kind.LAID, 6, None)
    plain = clutches_on(house(laid), ON, Settings())[0]
    candled = clutches_on(house(laid, ("F0", -5, Kind.EGGS, 6, "candled")), ON, Settings())[0]
    assert candled.hatch.p[0] < plain.hatch.p[0]
    assert candled.hatch.mean > plain.hatch.mean
    assert "not candled" in plain.why


def test_heat_in_the_log_moves_the_pip_date() -> None:
    laid: Noted = ("F0", -30, Kind.LAID, 6, None)
    cool: list[Noted] = [("I1", -d, Kind.TEMPERATURE, 29.0, None) for d in range(31)]
    plain, slow = (clutches_on(house(laid, *more), ON, Settings())[0] for more in ((), cool))
    assert slow.pip.q50 > plain.pip.q50 and "29.0 °C" in slow.why


def test_three_clutches_do_not_fit_two_places() -> None:
    three: list[Noted] = [(f"F{i}", -10 - i, Kind.LAID, 6, None) for i in range(3)]
    days = places_ahead(house(*three), ON, Settings())
    assert days[0].p_short == 1 and days[0].q50 == 3
    assert days[-1].p_short == 0 and days[-1].q95 == 0
    assert all(0 <= d.p_short <= 1 for d in days)


def test_a_female_after_her_shed_will_want_a_place() -> None:
    shed: Noted = ("F1", -10, Kind.PRELAY_SHED, None, None)
    stay = stays_of(house(shed), ON, Settings())[0]
    assert stay.tag == "F1" and stay.chance > 0.9
    assert 10 <= (stay.comes.q50 - ON).days <= 30
    assert 55 <= (stay.leaves.q50 - stay.comes.q50).days <= 68
    days = places_ahead(house(shed), ON, Settings())
    assert max(d.q50 for d in days) == 1 and max(d.p_short for d in days) == 0


def outlook(chance: float, first: int, step: int) -> Outlook:
    """A forecast of eggs with this chance, its five dates `step` days apart from day `first` on."""
    laid = Span(*(ON + timedelta(days=first + step * k) for k in range(5)))
    return Outlook({}, chance, {"laid": laid}, ())


def test_her_own_forecast_is_used_when_given() -> None:
    """A female of whom nothing is noted counts by her forecast alone; one that laid is not counted twice."""
    laid: Noted = ("F0", -5, Kind.LAID, 6, None)
    told = {"F0": outlook(1.0, 10, 5), "F1": outlook(0.4, 10, 5)}
    stays = stays_of(house(laid), ON, Settings(), told)
    assert [(s.tag, s.chance) for s in stays] == [("F0", 1.0), ("F1", 0.4)]
    assert stays[1].comes == told["F1"].dates["laid"]


def test_places_by_forecasts_equal_seasons_drawn_by_chance() -> None:
    """Against a plain draw of 4,000 seasons with the same chances and dates."""
    told = {f"F{i}": outlook(0.2 + 0.1 * i, 5 + 9 * i, 6 + i) for i in range(7)}
    colony = house(females=7, places=3)
    days = places_ahead(colony, ON, Settings(), 200, outlooks=told)
    mean_days, sd = 58.5, 58.5 * math.hypot(2.5 / 58.5, 0.04)
    females = [(o.p_lays, [(d - ON).days for d in astuple(o.dates["laid"])]) for o in told.values()]
    lying = seasons_drawn(np.random.default_rng(3), females, (round(mean_days) + 3, sd), 200, 4000)
    short = (lying > 3).mean(axis=0)
    assert max(abs(d.p_short - s) for d, s in zip(days, short, strict=True)) < 0.035
    assert max(d.p_short for d in days) > 0.2
    for level in ("q05", "q50", "q95"):
        drawn = np.quantile(lying, int(level[1:]) / 100, axis=0, method="inverted_cdf")
        off = np.array([getattr(d, level) for d in days]) - drawn
        assert np.abs(off).max() <= 1 and np.mean(off != 0) < 0.12


def test_nothing_to_think_of_is_empty() -> None:
    assert places_ahead(house(), ON, Settings()) == []
