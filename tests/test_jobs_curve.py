"""An animal's mass curve for drawing."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.jobs.curve import mass_curve
from eggtooth.jobs.gather import Source

ON = date(2026, 1, 10)


def test_curve_goes_through_the_good_weighings_and_widens_ahead() -> None:
    grams = [600, 650, 700, 7400, 790, 830]
    noted = [
        Entry(str(i), ON - timedelta(days=150 - 30 * i), None, "F1", Kind.WEIGHT, g, None)
        for i, g in enumerate(grams)
    ]
    source = Source(Colony.of([Animal("F1", Sex.FEMALE)], noted), Settings())
    curve = mass_curve(source, "F1", ON)
    assert [w > 0.5 for _, w in curve.weighings] == [True, True, True, False, True, True]
    for (entry, trusted), (day, low, mid, high) in zip(curve.weighings, curve.past, strict=True):
        assert day == entry.on and low < mid < high
        if trusted > 0.5:
            assert mid == pytest.approx(entry.value, rel=0.04)
    widths = [high / low for _, low, _, high in curve.ahead]
    assert curve.ahead[0][0] == ON and widths == sorted(widths)


def test_unknown_tag_is_refused() -> None:
    with pytest.raises(KeyError):
        mass_curve(Source(Colony.of([]), Settings()), "X", ON)
