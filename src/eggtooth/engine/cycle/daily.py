"""The chance of each milestone on each single day, for drawing a season and for adding chances up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from eggtooth.engine.cycle.forecast import FIRST, INCUBATION, Block, by_day
from eggtooth.engine.cycle.grid import Floats

NEGLIGIBLE = 1e-6
"""Days at either end with a smaller chance are left out."""


@dataclass(frozen=True, slots=True)
class Daily:
    """Chance of a milestone on each day from `first` on, given that she lays; the days sum to one."""

    first: date
    chance: Floats

    def days(self) -> Iterator[tuple[date, float]]:
        """Each day with its chance."""
        for n, p in enumerate(self.chance.tolist()):
            yield self.first + timedelta(days=n), p


def daily_of(block: Block, incubation: tuple[float, float] = INCUBATION) -> list[dict[str, Daily]]:
    """For each female of a block, the chances by day behind the spans of `told_of`, by the same names."""
    told = by_day(block, incubation)
    return [
        {name: trimmed(e.date(FIRST), chances[i]) for name, chances in told.items()}
        for i, e in enumerate(block.found)
    ]


def trimmed(first: date, chance: Floats) -> Daily:
    """Without the days at either end on which there is next to no chance. Raises `ValueError` when no day
    has any.
    """
    held = np.flatnonzero(chance > NEGLIGIBLE)
    if not len(held):
        raise ValueError("there is no chance on any day")
    low, high = int(held[0]), int(held[-1]) + 1
    return Daily(first + timedelta(days=low), chance[low:high])
