"""Whether a female without a night noted met a male all the same, told by the others of her house."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from eggtooth.engine.cycle.evidence import Evidence, evidence_of
from eggtooth.engine.cycle.pairing_notes import as_paired
from eggtooth.engine.cycle.prior import MEETS_A_MALE
from eggtooth.engine.history import History
from eggtooth.engine.simulate.season import draw_females, draw_seasons
from eggtooth.engine.simulate.sightings import log_of
from eggtooth.engine.simulate.world import CARELESS

START = date(2025, 9, 1)


def house(nights: list[int]) -> list[Evidence]:
    """A female for each number of nights noted."""
    return [Evidence(START, 120, met_male=n > 0, nights=n) for n in nights]


def chances(nights: list[int]) -> list[float]:
    """Chance that each female without a night noted meets a male."""
    return [e.meets for e in as_paired(house(nights)) if not e.met_male]


def test_alone_or_where_nobody_notes_pairings_nothing_is_told() -> None:
    assert chances([0]) == [MEETS_A_MALE]
    assert chances([0] * 12) == [MEETS_A_MALE] * 12
    assert as_paired([]) == []


def test_many_nights_noted_of_the_others_leave_her_without() -> None:
    assert chances([8, 9, 10, 7, 9, 0]) == pytest.approx([MEETS_A_MALE], abs=0.01)


def test_a_night_or_two_of_the_others_make_hers_likely() -> None:
    assert chances([1, 2, 1, 1, 2, 3, 1, 2, 1, 1, 0])[0] > 0.8
    more_without = chances([1, 2, 1, 1, 2, 3, 1, 2, 1, 1] + [0] * 60)
    assert more_without[0] < 0.7


def test_chances_stay_between_what_is_taken_alone_and_one() -> None:
    rng = np.random.default_rng(2)
    for _ in range(50):
        found = chances([int(n) for n in rng.poisson(rng.uniform(0, 4), 12)])
        assert all(MEETS_A_MALE <= p <= 1 for p in found)


def test_houses_are_told_apart_in_any_order() -> None:
    one, other = house([1, 1, 2, 0]), [replace(e, today=121) for e in house([9, 9, 9, 0])]
    assert as_paired([*one, *other]) == [*as_paired(one), *as_paired(other)]
    assert as_paired(one[::-1]) == as_paired(one)[::-1]


def test_in_a_house_that_misses_a_third_of_its_notes_most_without_one_met_a_male() -> None:
    """Every female of this invented house is with males every two weeks."""
    rng, until = np.random.default_rng(3), 105
    logs = log_of(rng, draw_seasons(rng, CARELESS, draw_females(rng, 80, CARELESS), START), until)
    found = as_paired([evidence_of(History(log, START + timedelta(days=until)), START) for log in logs])
    without = [e.meets for e in found if not e.met_male]
    assert without and min(without) > 0.85
