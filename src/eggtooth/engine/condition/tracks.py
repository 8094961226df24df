"""From entries to the arrays of the growth model: weighings, food between them, clutches, full bellies,
sheds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

import numpy as np

from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.condition.fed import Fed
from eggtooth.engine.condition.growth import Tracks
from eggtooth.engine.condition.levels import level_of
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History

HATCHLING_SD, ADULT_SD = 0.16, 0.5
ADULT_G = {Sex.MALE: 900.0, Sex.FEMALE: 1500.0, Sex.UNKNOWN: 1200.0}
GROWN_DAYS = 1095
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
    fed = Fed.of(seen, level_of(weighings, start, begins.toordinal()))
    walked = [_step(fed, None, *marks[0])]
    walked += [_step(fed, a[0], *b) for a, b in pairwise(marks)]
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


def _step(fed: Fed, before: date | None, on: date, weighing: Entry | None) -> Step:
    day = on.toordinal()
    gain = grown = drift = jump = 0.0
    if before:
        gain, drift, jump = fed.between(before.toordinal(), day)
        grown = max(0.0, fed.level.at(day) - fed.level.at(before.toordinal()))
    if weighing is None:
        return Step(on, gain, grown, drift, jump, math.nan, 0.0, 1.0, None)
    surplus = fed.gut(day)
    error = (biology.WEIGHING_ERROR.value / 100) ** 2 + (0.5 * surplus) ** 2
    if fed.sheds_soon(day):
        error += (biology.SHED_WEIGHING_ERROR.value / 100) ** 2
    return Step(on, gain, grown, drift, jump, math.log(weighing.value or 1.0), surplus, error, weighing)


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
