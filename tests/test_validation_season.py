"""A short slice of the long validation of season dates: `python -m validation season_dates` is the whole."""

from __future__ import annotations

import numpy as np
import pytest
from validation._house import years
from validation.season_dates import SCANS, measure

from eggtooth.engine.simulate.world import NARROW_FAST, WIDE


@pytest.mark.slow
@pytest.mark.parametrize("scan", [14, 0])
def test_dates_hold_beside_the_best_observer(scan: int) -> None:
    """60 days after males go in: 85 to 95 % inside, but for sampling error; error near the best possible."""
    made = years(WIDE, 4, 25, SCANS[scan], seed=5)
    told = measure(WIDE, SCANS[scan], 60, made, 40_000)
    room = 2.5 * np.sqrt(0.09 / len(told.error))
    assert all(0.85 - room <= share <= 0.95 + room for share in told.coverage().values()), told.coverage()
    assert told.to_best < 1.15
    assert told.to_plain < 1


@pytest.mark.slow
def test_a_house_that_grows_faster_and_varies_less_shows_it_within_its_season() -> None:
    """7.5 instead of 6 mm a month, half the spread, nothing learned before: 40 females teach each other."""
    made = years(NARROW_FAST, 3, 40, SCANS[14], seed=5)
    told = measure(NARROW_FAST, SCANS[14], 60, made, 40_000)
    assert min(told.coverage().values()) >= 0.85
    assert told.to_best < 1.15
    assert told.to_plain < 0.85
