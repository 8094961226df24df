"""Nights in, read from entries as a keeper notes them."""

from __future__ import annotations

from datetime import date, datetime

from eggtooth.engine.condition.nights import Night, nights_in
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History

IN, OUT = Kind.PAIRED, Kind.PARTED


def nights(until: int, *noted: tuple[int, Kind, str]) -> list[tuple[int, str]]:
    entries = [Entry(str(i), date(2026, 1, d), None, "M1", k, None, f) for i, (d, k, f) in enumerate(noted)]
    found = nights_in(History(entries, date(2026, 1, until)), date(2025, 9, 1))
    return [(n.on.day, n.female) for n in found]


def test_a_sitting_runs_from_the_evening_in_to_the_morning_out() -> None:
    assert nights(9, (5, IN, "F1"), (7, OUT, "F1")) == [(5, "F1"), (6, "F1")]


def test_parted_in_the_morning_and_put_elsewhere_that_evening() -> None:
    found = nights(9, (5, IN, "F1"), (6, OUT, "F1"), (6, IN, "F2"), (8, OUT, "F2"))
    assert found == [(5, "F1"), (6, "F2"), (7, "F2")]


def test_put_elsewhere_without_a_note_of_parting() -> None:
    assert nights(8, (5, IN, "F1"), (6, IN, "F2")) == [(5, "F1"), (6, "F2"), (7, "F2")]


def test_tonight_is_not_yet_a_night() -> None:
    assert nights(5, (5, IN, "F1")) == []


def test_a_sitting_nobody_ended_is_two_weeks_at_most() -> None:
    assert len(nights(31, (1, IN, "F1"))) == 14


def test_the_clock_of_an_entry_decides_before_the_usual_hour() -> None:
    def at(hour: int, kind: Kind, female: str) -> Entry:
        when = datetime(2026, 1, 6, hour)
        return Entry(f"{hour}", when.date(), when, "M1", kind, None, female)

    history = History([at(7, IN, "F2"), at(21, OUT, "F2")], date(2026, 1, 9))
    assert nights_in(history, date(2025, 9, 1)) == []
    assert Night(date(2026, 1, 6), "F2").female == "F2"
