"""Clutches in the incubators and places to come, on hand-written houses."""

from __future__ import annotations

from datetime import date, timedelta

from eggtooth.engine.colony import Animal, Colony, Incubator, Sex
from eggtooth.engine.entries import Detail, Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.clutches import clutches_on, places_ahead, stays_of

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


def test_nothing_to_think_of_is_empty() -> None:
    assert places_ahead(house(), ON, Settings()) == []
