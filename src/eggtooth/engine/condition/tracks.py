"""From entries to the arrays of the growth model: weighings, food between them, clutches, full bellies,
sheds.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from statistics import median

import numpy as np

from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.condition.growth import Tracks
from eggtooth.engine.condition.intake import (
    grams_eaten,
    upkeep,
    usual_food,
    usual_later,
    worth_of,
)
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History

NOTED_FOR_DAYS = 21
"""A meal noted, taken or refused, tells that notes were kept for this long after it (our choice)."""
UNKNOWN_FOOD_CV = 0.25
"""How far what was eaten while nothing was noted may lie from the usual ration (our choice)."""
FIRST_FOOD_CV = 0.4
"""The same from hatching to the first weighing: well fed young reach 600 g at eight months (our choice)."""
HATCHLING_SD, ADULT_SD = 0.16, 0.5
ADULT_G = {Sex.MALE: 900.0, Sex.FEMALE: 1500.0, Sex.UNKNOWN: 1200.0}
GROWN_DAYS = 1095
COARSE_DAYS = 30
SMALLEST_G = 15.0
SUDDEN_SD = 0.3


@dataclass(frozen=True, slots=True)
class Step:
    """One row and column of the arrays, before padding; see `Tracks` for the names."""

    on: date
    gain: float
    grown: float
    drift: float
    jump: float
    reading: float
    surplus: float
    error: float
    weighing: Entry | None


@dataclass(frozen=True, slots=True)
class Track:
    """One animal's steps, with the prior of its log mass at the first."""

    steps: tuple[Step, ...]
    start: float
    start_var: float


def track_of(animal: Animal, seen: History) -> Track:
    """One animal's steps: hatching if known, each weighing, and the day of the history last."""
    weighings = [e for e in seen.all(Kind.WEIGHT) if (e.value or 0) >= SMALLEST_G]
    first = weighings[0].on if weighings else seen.on
    start, start_var, begins = _start(animal, first)
    marks: list[tuple[date, Entry | None]] = [(begins, None)] if begins < first else []
    marks += [(e.on, e) for e in weighings]
    if not weighings or weighings[-1].on < seen.on:
        marks.append((seen.on, None))
    level = _level(weighings, start, begins)
    walked = [_step(seen, level, None, *marks[0])]
    walked += [_step(seen, level, a[0], *b) for a, b in pairwise(marks)]
    return Track(tuple(_with_real_changes(walked)), start, start_var)


def _with_real_changes(steps: list[Step]) -> list[Step]:
    """Room for a sudden change in the gap before a reading that does not follow, when the next one confirms
    it.

    Growth wanders too little to explain, say, a clutch nobody noted; alone, two true readings would look
    wrong.
    """
    weighed = [k for k, s in enumerate(steps) if s.weighing]
    for before, here, after in zip(weighed, weighed[1:], weighed[2:], strict=False):
        if not _follows(steps, before, here) and _follows(steps, here, after):
            steps[here] = replace(steps[here], jump=steps[here].jump + SUDDEN_SD**2)
    return steps


def _follows(steps: list[Step], one: int, two: int) -> bool:
    """Whether a reading is near what food and upkeep make of an earlier one."""
    between = steps[one + 1 : two + 1]
    told = sum(biology.GROWTH_EFFICIENCY.value * s.gain + s.drift for s in between)
    off = steps[two].reading - steps[two].surplus - steps[one].reading + steps[one].surplus - told
    return abs(off) <= 0.08 + 0.003 * (steps[two].on - steps[one].on).days


def _start(animal: Animal, first: date) -> tuple[float, float, date]:
    """Prior of log mass at the first step, and its day: hatching for the young, else the first weighing."""
    age = animal.age_days(first)
    if age is not None and 0 <= age < GROWN_DAYS and animal.hatched:
        return math.log(biology.HATCHLING_MASS.value), HATCHLING_SD**2, animal.hatched
    return math.log(ADULT_G[animal.sex]), ADULT_SD**2, first


class _Level:
    """A rough log mass by day for weighing up meals: between weighings straight, after the last the usual
    curve.

    Each weighing is first replaced by the median of it and its neighbours.
    """

    def __init__(self, days: Sequence[int], logs: Sequence[float]) -> None:
        self.days, self.logs = days, logs

    def at(self, day: date) -> float:
        on = day.toordinal()
        k = bisect_right(self.days, on)
        if k == 0:
            return self.logs[0]
        if k == len(self.days):
            return usual_later(self.logs[-1], on - self.days[-1])
        share = (on - self.days[k - 1]) / (self.days[k] - self.days[k - 1])
        return self.logs[k - 1] + share * (self.logs[k] - self.logs[k - 1])


def _level(weighings: Sequence[Entry], start: float, begins: date) -> _Level:
    if not weighings:
        return _Level([begins.toordinal()], [start])
    raw = [math.log(e.value or 1.0) for e in weighings]
    logs = [median(raw[max(0, i - 1) : i + 2]) if 0 < i < len(raw) - 1 else raw[i] for i in range(len(raw))]
    days = [e.on.toordinal() for e in weighings]
    if begins.toordinal() < days[0]:
        days, logs = [begins.toordinal(), *days], [start, *logs]
    return _Level(days, logs)


def _step(seen: History, level: _Level, before: date | None, on: date, weighing: Entry | None) -> Step:
    gain, drift, jump = _between(seen, level, before, on) if before else (0.0, 0.0, 0.0)
    grown = max(0.0, level.at(on) - level.at(before)) if before else 0.0
    if weighing is None:
        return Step(on, gain, grown, drift, jump, math.nan, 0.0, 1.0, None)
    surplus = _gut(seen, level, on)
    error = (biology.WEIGHING_ERROR.value / 100) ** 2 + (0.5 * surplus) ** 2
    if any(0 <= (s.on - on).days <= 7 for s in seen.all(Kind.SHED, on)):
        error += (biology.SHED_WEIGHING_ERROR.value / 100) ** 2
    return Step(on, gain, grown, drift, jump, math.log(weighing.value or 1.0), surplus, error, weighing)


def _between(seen: History, level: _Level, before: date, on: date) -> tuple[float, float, float]:
    """Food, known change and added variance from `before` (left out) to `on`."""
    gain, unknown = 0.0, (on - before).days
    covered = before
    for meal in seen.all(Kind.MEAL, before):
        if meal.on >= on:
            break
        at = level.at(meal.on)
        gain += grams_eaten(meal, math.exp(at)) / math.exp(at) * worth_of(at)
        upto = min(date.fromordinal(meal.on.toordinal() + NOTED_FOR_DAYS), on)
        unknown -= max(0, (upto - max(covered, meal.on)).days)
        covered = max(covered, upto)
    filled, drift = _by_ration(level, before, on, unknown)
    first = seen.first(Kind.WEIGHT)
    unsure = FIRST_FOOD_CV if first and first.on == on else UNKNOWN_FOOD_CV
    jump = (unsure * biology.GROWTH_EFFICIENCY.value * filled) ** 2
    for laid in seen.all(Kind.LAID, before):
        if before < laid.on <= on:
            drift += math.log(1 - biology.RELATIVE_CLUTCH_MASS.value)
            jump += 0.075**2
    return gain + filled, drift, jump


def _by_ration(level: _Level, before: date, on: date, unknown: int) -> tuple[float, float]:
    """What the usual ration would give over the days nobody noted a meal, and the upkeep over all days."""
    days = (on - before).days
    if days <= 0:
        return 0.0, 0.0
    pieces = -(-days // COARSE_DAYS)
    middles = [
        date.fromordinal(before.toordinal() + (2 * i + 1) * days // (2 * pieces)) for i in range(pieces)
    ]
    at = [level.at(m) for m in middles]
    food = sum(usual_food(x) for x in at) / pieces * max(0, unknown) if unknown > 0 else 0.0
    return food, -sum(upkeep(x) for x in at) / pieces * days


def _gut(seen: History, level: _Level, on: date) -> float:
    """Log surplus of gut content at a weighing; a meal noted the same day is in the gut in one case of
    two.
    """
    share = 0.0
    for meal in reversed(seen.all(Kind.MEAL)):
        days = (on - meal.on).days
        if days > 8:
            break
        if days >= 0:
            left = 0.5 if days == 0 else math.exp(-days / biology.GUT_EMPTIES.value)
            mass = math.exp(level.at(on))
            share += 0.7 * left * grams_eaten(meal, mass) / mass
    return math.log1p(share)


def stacked(tracks: Sequence[Track]) -> Tracks:
    """All animals in [animals, steps] arrays; short rows are padded in front, so the last step is the day
    asked.

    Padding steps stand before the prior's day and change nothing.
    """
    width = max(len(t.steps) for t in tracks)
    shape = (len(tracks), width)
    days, gain, grown, drift, jump = (np.zeros(shape) for _ in range(5))
    reading, surplus, error = np.full(shape, np.nan), np.zeros(shape), np.ones(shape)
    for row, track in enumerate(tracks):
        at = width - len(track.steps)
        for column, step in enumerate(track.steps, at):
            gain[row, column], drift[row, column], jump[row, column] = step.gain, step.drift, step.jump
            grown[row, column] = step.grown
            reading[row, column], surplus[row, column] = step.reading, step.surplus
            error[row, column] = step.error
            if column > at:
                days[row, column] = (step.on - track.steps[column - at - 1].on).days
    start = np.array([t.start for t in tracks])
    start_var = np.array([t.start_var for t in tracks])
    return Tracks(days, gain, grown, drift, jump, reading, surplus, error, start, start_var)
