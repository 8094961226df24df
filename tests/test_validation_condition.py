"""Short slices of the long validations of growth and wear, with bounds their own chance allows."""

from __future__ import annotations

import numpy as np
import pytest
from validation.growth import coverage
from validation.wear import outcome

from eggtooth.engine.simulate.advised import ByTheRound


@pytest.mark.slow
@pytest.mark.parametrize(("age_days", "every", "meals"), [(450, 30, True), (900, 30, False)])
def test_mass_ahead_lies_in_its_interval(age_days: int, every: int, meals: bool) -> None:
    found = coverage(5, 80, age_days, every, meals)
    assert np.mean([in90 for _, in90, _, _ in found]) > 0.80
    assert 0.35 < np.mean([in50 for _, _, in50, _ in found]) < 0.80


@pytest.mark.slow
def test_no_male_dies_under_the_round_and_few_rest_too_early() -> None:
    seasons, died, rested, spare = outcome(504, 40, ByTheRound)
    assert seasons >= rested >= 10
    assert died == 0
    assert np.mean(np.array(spare) > 21) < 0.25
