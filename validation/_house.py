"""Simulated houses for the validations: years of females, what a keeper noted, and the plain rule."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.simulate.season import Fate, Seasons, draw_females, draw_seasons
from eggtooth.engine.simulate.sightings import Watching, log_of
from eggtooth.engine.simulate.world import World
from validation._observer import START

OPENS = 75
"""Season day of 15 November, when males go in; horizons count from there."""

DATES = ("ovulation", "prelay_shed", "laid", "pip")
PLAIN_SEASON = 226
"""Where nothing was scanned the plain rule says mid April."""


@dataclass(frozen=True)
class Year:
    """One year of a house: the truth, and all that will be noted in it."""

    truth: Seasons
    logs: list[list[Entry]]

    def upto(self, day: int) -> list[History]:
        """Histories as they stand on a season day."""
        on = START + timedelta(days=day)
        return [History(log, on) for log in self.logs]

    def noted(self, day: int) -> list[list[Entry]]:
        """Entries by a season day."""
        on = START + timedelta(days=day)
        return [[e for e in log if e.on <= on] for log in self.logs]

    def day_of(self, name: str) -> np.ndarray:
        """True season day of a date, whole, (F,); NaN where it never comes."""
        return np.floor(getattr(self.truth, name))

    @property
    def lays(self) -> np.ndarray:
        """Who lays, (F,)."""
        return self.truth.fate == Fate.LAYS


def years(
    world: World, n_years: int, females: int, watching: Watching, seed: int, until: int = 330
) -> list[Year]:
    """Independent years, each with its own females."""
    rng = np.random.default_rng(seed)
    found = []
    for _ in range(n_years):
        truth = draw_seasons(rng, world, draw_females(rng, females, world), START)
        found.append(Year(truth, log_of(rng, truth, until, watching, seed)))
    return found


def plain_laid(entries: Sequence[Entry], today: int) -> float:
    """The plain rule: 6 mm a month from the last scan to 25 mm, then 19 mm in 16.7 days, then fixed days."""
    last = {
        k: [e for e in entries if e.kind is k][-1:] for k in (Kind.PRELAY_SHED, Kind.OVULATION, Kind.SCAN)
    }
    for kind, wait in ((Kind.PRELAY_SHED, 31.0), (Kind.OVULATION, 49.0)):
        for e in last[kind]:
            return max(today, (e.on - START).days + wait)
    for e in last[Kind.SCAN]:
        if mm := e.value:
            days = max(0.0, 25 - mm) / 0.2 + max(0.0, 44 - max(mm, 25)) / 1.14
            return max(today, (e.on - START).days + days + 49)
    return max(today, PLAIN_SEASON)
