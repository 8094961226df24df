"""Numbers told against what was counted: mass ahead against later weighings, hatchlings of a clutch."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist, fmean

import numpy as np

from eggtooth.engine.colony import Animal, Colony
from eggtooth.engine.condition.growing import fan, growing
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.planning.clutches import clutch_of
from eggtooth.engine.planning.warmed import Warmed
from eggtooth.engine.review.dates import EVERY_DAYS, first_of
from eggtooth.engine.spans import LEVELS

MASS_EVERY_DAYS = 91
MASS = "mass"
HATCHED = "hatched"
UNITS = {MASS: "%", HATCHED: "hatchlings"}
Z = tuple(NormalDist().inv_cdf(p) for p in LEVELS)


@dataclass(frozen=True, slots=True)
class Number:
    """A number told with its spread (5, 25, 50, 75, 95 %) on a day, and the entry that tells what came."""

    tag: str
    what: str
    on: date
    told: tuple[float, float, float, float, float]
    happened: Entry

    @property
    def weeks_ahead(self) -> int:
        """Whole weeks from the telling to the count."""
        return (self.happened.on - self.on).days // 7

    @property
    def came(self) -> float:
        """What was counted."""
        return self.happened.value or 0.0

    @property
    def off(self) -> float:
        """By how much it came out above the middle: in percent of it for masses, else in its own unit."""
        return self._scaled(self.came - self.told[2])

    @property
    def width(self) -> float:
        """Width of the 90 % span, scaled likewise."""
        return self._scaled(self.told[4] - self.told[0])

    def _scaled(self, difference: float) -> float:
        return 100 * difference / self.told[2] if self.what == MASS else difference


@dataclass(frozen=True, slots=True)
class Score:
    """How numbers of one kind told so many weeks ahead did; errors in `unit`, `animals` behind the `n`.

    A span of whole hatchlings holds at least its share, mostly more.
    """

    what: str
    unit: str
    weeks_ahead: int
    n: int
    animals: int
    in_50: int
    in_90: int
    error: float
    shift: float
    width_90: float


def masses(colony: Colony, start: date, end: date) -> Iterator[Number]:
    """Mass forecasts told four times a year of everyone in the room, against each later weighing.

    A weighing after a clutch is left out: the forecast was of an animal that goes on as it did. The spread
    told is that of a reading: of the mass, and of a good scale.
    """
    day = start
    while day < end:
        here = [a for a in colony.here(day) if not (a.hatched and a.hatched > day)]
        animals = [a for a in here if History(colony.of_animal(a.tag), day).last(Kind.WEIGHT)]
        if animals:
            yield from _masses_on(colony, animals, day, end)
        day += timedelta(days=MASS_EVERY_DAYS)


def _masses_on(colony: Colony, animals: Sequence[Animal], day: date, end: date) -> Iterator[Number]:
    seen = [History(colony.of_animal(a.tag), day) for a in animals]
    ahead = fan(growing(animals, seen, day), (end - day).days + 7)
    error = biology.WEIGHING_ERROR.value / 100
    for row, animal in enumerate(animals):
        for weighing in _later(colony.of_animal(animal.tag), day, end):
            days = (weighing.on - day).days
            middle = float(np.interp(days, ahead.days, ahead.log_mass[row]))
            sd = math.hypot(float(np.interp(days, ahead.days, ahead.sd[row])), error)
            q05, q25, q50, q75, q95 = (math.exp(middle + z * sd) for z in Z)
            yield Number(animal.tag, MASS, day, (q05, q25, q50, q75, q95), weighing)


def _later(entries: Sequence[Entry], day: date, end: date) -> Iterator[Entry]:
    """Weighings after a day, up to a clutch."""
    for entry in entries:
        if entry.on <= day:
            continue
        if entry.on > end or entry.kind is Kind.LAID:
            return
        if entry.kind is Kind.WEIGHT and entry.value:
            yield entry


def hatch_counts(
    colony: Colony, tag: str, start: date, end: date, boxes: Callable[[date], Warmed]
) -> Iterator[Number]:
    """How many would hatch, told every two weeks from the eggs on, against how many did; `boxes` are the
    incubators as known on a day.
    """
    entries = colony.of_animal(tag)
    laid, hatched = first_of(entries, Kind.LAID, start, end), first_of(entries, Kind.HATCHED, start, end)
    if laid is None or hatched is None or hatched.value is None or not laid.value:
        return
    day = laid.on
    while day < hatched.on:
        hatch = clutch_of(colony, tag, laid, day, boxes(day)).hatch
        q05, q25, q50, q75, q95 = (float(hatch.quantile(p)) for p in LEVELS)
        yield Number(tag, HATCHED, day, (q05, q25, q50, q75, q95), hatched)
        day += timedelta(days=EVERY_DAYS)


def scored(told: Sequence[Number]) -> Iterator[Score]:
    """Scores by kind and weeks ahead."""
    groups: dict[tuple[str, int], list[Number]] = {}
    for one in told:
        groups.setdefault((one.what, one.weeks_ahead), []).append(one)
    for what, weeks in sorted(groups, key=lambda g: (list(UNITS).index(g[0]), g[1])):
        yield score_of(what, weeks, groups[what, weeks])


def score_of(what: str, weeks: int, told: Sequence[Number]) -> Score:
    """Score some numbers of one kind together."""
    return Score(
        what,
        UNITS[what],
        weeks,
        len(told),
        len({t.tag for t in told}),
        sum(t.told[1] <= t.came <= t.told[3] for t in told),
        sum(t.told[0] <= t.came <= t.told[4] for t in told),
        fmean(abs(t.off) for t in told),
        fmean(t.off for t in told),
        fmean(t.width for t in told),
    )
