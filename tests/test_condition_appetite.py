"""Off food told apart from a shed and from weeks without notes."""

from __future__ import annotations

from datetime import date, timedelta

from eggtooth.engine.condition.appetite import Appetite, Eats, appetite_of
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History

DAY0 = date(2026, 1, 1)
Noted = tuple[int, Kind, float | None]


def appetite(day: int, *noted: Noted) -> Appetite:
    entries = [
        Entry(str(i), DAY0 + timedelta(days=d), None, "M1", k, v, None)
        for i, (d, k, v) in enumerate(sorted(noted, key=lambda n: n[0]))
    ]
    return appetite_of(History(entries, DAY0 + timedelta(days=day)))


ATE: Noted = (0, Kind.MEAL, 1)


def refused(*days: int) -> list[Noted]:
    return [(d, Kind.MEAL, 0) for d in days]


def test_eats_after_a_meal() -> None:
    assert appetite(5, ATE).eats is Eats.EATING


def test_two_refusals_are_off_food() -> None:
    found = appetite(20, ATE, *refused(7, 14))
    assert found.eats is Eats.OFF_FOOD and found.days(DAY0 + timedelta(days=20)) == 20
    assert len(found.refused) == 2


def test_refusals_before_a_shed_are_not() -> None:
    """Common practice, no source: appetite drops in the 10 to 14 days of a shed."""
    assert appetite(20, ATE, *refused(7, 14), (17, Kind.SHED, None)).eats is Eats.IN_SHED


def test_no_offer_noted_for_weeks_is_no_fast() -> None:
    assert appetite(60, ATE).eats is Eats.NO_NOTES
    assert appetite(60).eats is Eats.NO_NOTES and appetite(60).last is None


def test_a_gain_with_no_offer_noted_shows_a_meal() -> None:
    gained = appetite(60, ATE, (10, Kind.WEIGHT, 700), (50, Kind.WEIGHT, 760))
    assert gained.last is not None and gained.last.kind is Kind.WEIGHT
    fell = appetite(60, ATE, (10, Kind.WEIGHT, 700), (50, Kind.WEIGHT, 670))
    assert fell.last is not None and fell.last.kind is Kind.MEAL


def test_a_gain_despite_noted_refusals_is_no_meal() -> None:
    found = appetite(60, ATE, (10, Kind.WEIGHT, 700), (50, Kind.WEIGHT, 740), *refused(20, 30, 40))
    assert found.last is not None and found.last.kind is Kind.MEAL
