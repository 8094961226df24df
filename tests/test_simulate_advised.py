"""An invented house under the tool's own moves: closed loop, small."""

from __future__ import annotations

from datetime import date

import numpy as np

from eggtooth.engine.entries import Kind
from eggtooth.engine.simulate.advised import ByTheRound
from eggtooth.engine.simulate.colony import simulate_colony


def test_a_season_by_the_round() -> None:
    """Males go out, females lay good eggs, and no male worked by the round dies of it."""
    made = simulate_colony(
        np.random.default_rng(2), animals=16, years=1, until=date(2024, 9, 2), policy=ByTheRound()
    )
    kinds = {e.kind for seen in made.colony.entries.values() for e in seen}
    assert {Kind.PAIRED, Kind.LOCK, Kind.LAID} <= kinds
    assert sum(c.good > 0 for c in made.truth.clutches) >= 3
    assert not [m for m in made.truth.males if m.died]
