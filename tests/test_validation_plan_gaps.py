"""A short slice of the long check on plans of pairs."""

from __future__ import annotations

import numpy as np
import pytest
from validation.plan_gaps import gaps, odds


@pytest.mark.slow
def test_one_house_and_the_odds(capsys: pytest.CaptureFixture[str]) -> None:
    assert gaps(20, 50, 3, 0.001, range(2)) == 0
    assert odds(np.random.default_rng(3), 5_000) == 0
    assert "gap up to" in capsys.readouterr().out
