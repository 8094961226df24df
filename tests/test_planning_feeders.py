"""The order of prey against plain enumeration, and on hand-written rooms."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import product

import numpy as np
import pytest

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.feeders import feeder_order, offers_by_week, summed

ON = date(2026, 1, 14)


def colony(*animals: tuple[str, str, float, int], refuses: bool = False) -> Colony:
    """Animals by tag, sex, mass in grams and days since the last meal."""
    entries = []
    for tag, _, grams, ate in animals:
        entries.append(Entry(f"{tag}w", ON - timedelta(days=5), None, tag, Kind.WEIGHT, grams, None))
        entries.append(Entry(f"{tag}m", ON - timedelta(days=ate), None, tag, Kind.MEAL, 1, None))
        if refuses:
            entries += [
                Entry(f"{tag}{d}", ON - timedelta(days=d), None, tag, Kind.MEAL, 0, None)
                for d in range(ate - 7, 0, -7)
            ]
    return Colony.of([Animal(t, Sex(s), hatched=date(2020, 1, 1)) for t, s, _, _ in animals], entries)


def test_sum_equals_enumeration() -> None:
    counts = [[0.2, 0.8], [0.5, 0.25, 0.25], [0.1, 0.0, 0.9], [1.0]]
    plain = np.zeros(6)
    for numbers in product(*(range(len(c)) for c in counts)):
        plain[sum(numbers)] += np.prod([c[n] for c, n in zip(counts, numbers, strict=True)])
    np.testing.assert_allclose(summed(counts), plain, atol=1e-12)


@pytest.mark.parametrize(("first", "every"), [(0, 7), (3, 5), (9, 14), (20, 10)])
def test_offers_add_up_to_the_interval(first: int, every: float) -> None:
    weeks = offers_by_week(first, every, 20)
    mean = sum(n * p for by in weeks.values() for n, p in by.items())
    assert mean == pytest.approx((140 - first) / every, abs=1.01)
    assert all(sum(by.values()) == pytest.approx(1) for by in weeks.values())
    assert min(weeks) == first // 7


def test_one_adult_eats_about_once_in_ten_days() -> None:
    """Common practice, no source: adults out of the season every 10 to 14 days."""
    needs = feeder_order(colony(("X1", "", 1500, 3)), ON, Settings(), 10)
    assert sum(n.mean for n in needs) == pytest.approx(6.5, abs=0.9)
    assert {n.prey for n in needs} == {"medium rat"}


def test_breeding_females_eat_two_or_three_every_five_days() -> None:
    needs = feeder_order(colony(("F1", "F", 1900, 5)), ON, Settings(), 2)
    assert needs[0].mean == pytest.approx(2 * 2.5 * 0.92, abs=0.1)
    assert needs[0].q05 <= needs[0].q50 <= needs[0].q95 <= 6


def test_spread_shrinks_against_the_number_in_a_large_house() -> None:
    small = feeder_order(colony(("F1", "F", 1900, 5)), ON, Settings(), 3)[-1]
    many = colony(*((f"F{i:02d}", "F", 1900.0, 5) for i in range(40)))
    large = feeder_order(many, ON, Settings(), 3)[-1]
    assert large.mean == pytest.approx(40 * small.mean)
    assert (large.q95 - large.q05) / large.mean < (small.q95 - small.q05) / small.mean


def test_an_animal_off_food_needs_less() -> None:
    eats = feeder_order(colony(("M1", "M", 800, 30)), ON, Settings(), 4)
    refuses = feeder_order(colony(("M1", "M", 800, 30), refuses=True), ON, Settings(), 4)
    assert sum(n.mean for n in refuses) < 0.8 * sum(n.mean for n in eats)


def test_no_food_from_ovulation_to_a_week_after_the_eggs() -> None:
    room = colony(("F1", "F", 1900, 20))
    entries = list(room.of_animal("F1"))
    entries.append(Entry("o", ON - timedelta(days=3), None, "F1", Kind.OVULATION, None, None))
    later = Colony.of(room.animals.values(), entries)
    weeks = {n.week for n in feeder_order(later, ON, Settings(), 12)}
    assert weeks and min(weeks) > ON + timedelta(days=40)


def test_weeks_out_of_range_are_refused() -> None:
    with pytest.raises(ValueError, match="1 to 52"):
        feeder_order(colony(("F1", "F", 1900, 5)), ON, Settings(), 0)
    assert feeder_order(Colony.of([]), ON, Settings(), 2) == []
