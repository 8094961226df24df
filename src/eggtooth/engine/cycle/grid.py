"""The fixed grid a season is followed on: ways to grow, days since 12 mm, diameters.

A *class* is one way a season may run: a slow rate, a turn and a fast rate (each on fixed levels) that end in
ovulation, or a slow rate and a diameter at which reabsorption sets in, or no growth at all. Within a class a
follicle moves one cell a day along the class's own curve, so the lattice (day × cell) falls apart into
diagonals, one for each day on which she reaches 12 mm. Rates do not jump at the turn: they change over a few
millimetres, as the normal distribution function does.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import IntEnum
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from eggtooth.engine.cycle.prior import FAST, OVULATION_MM, SLOW, TURN, USUAL_BEND_MM, WHOLE, Trait, trait_of
from eggtooth.engine.facts import biology
from eggtooth.engine.normal import cdf

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

LAST_DAY = 400
"""Season days run from 0, when the breeding year turns, to this one; dates ahead may lie later."""

BIN_MM, BINS = 0.25, 241
MM: Floats = np.arange(BINS, dtype=np.float64) * BIN_MM
OFF_FOOD_SD_MM = trait_of(biology.OFF_FOOD_FROM).sd
REST_MM, LEAVING_MM, FROM_MM = 3.7, 2.0, biology.PAIRING_FROM.value

GROWS_ON_DAYS, FADES_DAYS = 4.0, 26.0
"""After reabsorption sets in: days until the follicle shrinks, and days per e-fold of shrinking (our choice;
gone after about three months as in DeNardo & Autumn 2001)."""


FASTS_DAYS = 60
"""How long a female that stays off food after reabsorption set in does so (our choice)."""

EATS_AFTER_EGGS_DAYS, EATS_SD_DAYS = 10.0, 8.0
"""Days from eggs taken into the incubator to her first meals (common practice, no source), and how far the
day she eats again spreads about that of the median waits from her curve's ovulation (our choice)."""


class Fate(IntEnum):
    """How a season runs out."""

    LAYS = 0
    SMALL = 1
    LARGE = 2
    NEVER = 3


@dataclass(frozen=True, slots=True)
class Shape:
    """How fine the grid is: levels in standard deviations of the facts' spreads, days between starts."""

    slow_z: tuple[float, ...] = (-2.5, -2.0, -1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0, 2.5)
    turn_z: tuple[float, ...] = (-2.0, -1.0, 0.0, 1.0, 2.0)
    fast_z: tuple[float, ...] = (-1.2, 0.0, 1.2)
    fading_z: tuple[float, ...] = (-1.6, -0.8, 0.0, 0.8, 1.6)
    small_mm: tuple[float, ...] = (9.0, 12.8, 14.4, 16.0, 17.6, 19.2)
    large_mm: tuple[float, ...] = (21.5, 25.0, 29.0, 33.0, 38.0)
    first_start: int = -30
    starts: int = 72
    step: int = 4
    fasts_mm: tuple[float, ...] = ()
    """Of `large_mm`, those from which some females stay off food after reabsorption: classes of their own."""
    bend_mm: float = USUAL_BEND_MM
    """How softly growth turns from slow to fast (see `prior.BENDS_MM`)."""

    def bent(self, bend_mm: float) -> Shape:
        """The same grid for another bend."""
        return self if bend_mm == self.bend_mm else replace(self, bend_mm=bend_mm)


FINE = Shape(fasts_mm=(25.0, 29.0, 33.0, 38.0))
"""The forecast's grid. One with 3.6 times the cells gave the same errors and coverage at twice the time."""

LEARN = Shape(
    fading_z=(-1.4, 0.0, 1.4), small_mm=(9.0, 14.0, 18.0), large_mm=(22.0, 27.0, 34.0), fasts_mm=(27.0, 34.0)
)
"""A grid for learning: fine where a house's own rates may differ."""

ROUND = Shape(
    slow_z=(-2.1, -1.4, -0.7, 0.0, 0.7, 1.4, 2.1),
    turn_z=(-1.4, 0.0, 1.4),
    fast_z=(-1.4, 0.0, 1.4),
    fading_z=(-1.4, 0.0, 1.4),
    small_mm=(9.0, 14.0, 18.0),
    large_mm=(22.0, 27.0, 34.0),
    fasts_mm=(27.0, 34.0),
)
"""A coarser grid for the day's round: under half the cells, dates within about a day of the fine one's."""


@dataclass(frozen=True)
class Grid:
    """The lattice laid out. C classes, S starts, bins of `BIN_MM`.

    `levels` is (C, 3): index of the slow, turn and fast level (-1 where a class has none). `binned` is
    (step, C, J): diameter bins, days running backwards, split by day modulo the step, so that the cells of
    one day over all starts are a plain slice. `appetite` is the same of the diameter that sets her appetite:
    her follicle's, but in classes that `fasts` held at its largest for `FASTS_DAYS`, and in those that lay
    small again once eggs would be in the incubator. `reach` maps diameters to days since 12 mm, (C,).
    """

    shape: Shape
    fate: Ints
    levels: Ints
    exit_mm: Floats
    starts: Ints
    fasts: NDArray[np.bool_]
    binned: NDArray[np.uint8]
    appetite: NDArray[np.uint8]
    newest: int
    reach_25: Ints
    reach_ovulation: Ints
    exit_day: Ints
    fast_mm_day: Floats
    tables: dict[object, NDArray[np.float32]] = field(default_factory=dict)

    @property
    def lays(self) -> int:
        """Classes that lay; they come first."""
        return int(np.count_nonzero(self.fate == Fate.LAYS))

    def cells(self, day: int) -> tuple[int, slice]:
        """Where the cells of one season day stand in `binned`: first axis, and slice of the last."""
        backwards = self.newest - day + self.shape.first_start
        at = backwards // self.shape.step
        return backwards % self.shape.step, slice(at, at + self.shape.starts)

    def bins_on(self, day: int) -> NDArray[np.uint8]:
        """Diameter bins on a season day by class and start, (C, S)."""
        parity, cells = self.cells(day)
        found: NDArray[np.uint8] = self.binned[parity][:, cells]
        return found

    def appetite_on(self, day: int) -> NDArray[np.uint8]:
        """Bins of the diameter that sets her appetite on a season day by class and start, (C, S)."""
        parity, cells = self.cells(day)
        found: NDArray[np.uint8] = self.appetite[parity][:, cells]
        return found

    def mm_on(self, day: int) -> Floats:
        """Diameters on a season day by class and start, (C, S)."""
        found: Floats = MM[self.bins_on(day)]
        return found

    def reabsorbed_on(self, day: int) -> NDArray[np.bool_]:
        """Where reabsorption has set in by a season day, (C, S)."""
        found: NDArray[np.bool_] = day - self.starts[None, :] >= self.exit_day[:, None]
        return found


def rate_mm_day(mm: Floats, slow: Floats, fast: Floats, turn: Floats, bend_mm: float) -> Floats:
    """Growth at a diameter in mm a day (arrays broadcast). Rates multiply between females, so it is the
    logarithm that goes over from slow to fast, as the normal distribution function does."""
    turned = cdf((mm - turn) / bend_mm)
    rate: Floats = slow * (fast / slow) ** turned
    return rate


@lru_cache(maxsize=4)
def calibration(bend_mm: float = USUAL_BEND_MM) -> tuple[float, float]:
    """Factors on slow and fast far from the turn, so that the median takes the facts' days over the turn:
    12 to 25 mm at the slow rate's, 25 mm to ovulation at the fast rate's. Solved to 1e-9 by turns."""
    lower = np.linspace(FROM_MM, TURN.mean, 401)
    upper = np.linspace(TURN.mean, OVULATION_MM.mean, 401)
    slow = fast = 1.0
    while True:
        far = (np.asarray(SLOW.centre * slow), np.asarray(FAST.centre * fast), np.asarray(TURN.mean))
        late = float(np.trapezoid(1 / rate_mm_day(lower, *far, bend_mm), lower))
        late *= SLOW.centre / (TURN.mean - FROM_MM)
        last = float(np.trapezoid(1 / rate_mm_day(upper, *far, bend_mm), upper))
        last *= FAST.centre / (OVULATION_MM.mean - TURN.mean)
        if abs(late - 1) + abs(last - 1) < 1e-9:
            return slow, fast
        slow, fast = slow * late, fast * last


def curves(
    slow: Floats, fast: Floats, turn: Floats, days: Floats, bend_mm: float = USUAL_BEND_MM
) -> tuple[Floats, Floats]:
    """Diameters of growing classes on days since 12 mm, (C, days), and days to each of `MM`, (C, BINS).

    Below 12 mm growth eases in from rest; above ovulation the curve runs on (nobody sees it).
    """
    mm = np.linspace(FROM_MM, MM[-1], 1921)
    slowness = 1 / rate_mm_day(mm, slow[:, None], fast[:, None], turn[:, None], bend_mm)
    steps = (slowness[:, 1:] + slowness[:, :-1]) / 2 * (mm[1] - mm[0])
    elapsed = np.concatenate([np.zeros((len(slow), 1)), np.cumsum(steps, axis=1)], axis=1)
    grown = np.array([np.interp(days, row, mm) for row in elapsed])
    start_rate = 1 / slowness[:, :1]
    early = FROM_MM + np.minimum(days, 0.0) * start_rate
    eased = REST_MM + LEAVING_MM * np.logaddexp(0.0, (early - REST_MM) / LEAVING_MM)
    below = LEAVING_MM * np.log1p(np.exp(-(FROM_MM - REST_MM) / LEAVING_MM))
    diameters = np.where(days >= 0, grown, np.minimum(eased - below, FROM_MM))
    reach = np.array([np.interp(MM, mm, row) for row in elapsed])
    return diameters, reach


def faded(diameters: Floats, exit_mm: Floats) -> tuple[Floats, Ints]:
    """The same curves when reabsorption sets in at `exit_mm`: they halt there and then shrink back to rest.

    Also the column at which it sets in.
    """
    first = np.argmax(diameters >= exit_mm[:, None], axis=1)
    late = np.maximum(np.arange(diameters.shape[1]) - first[:, None], 0)
    held = np.minimum(diameters, exit_mm[:, None])
    left = np.exp(-np.maximum(late - GROWS_ON_DAYS, 0) / FADES_DAYS)
    shrunk: Floats = REST_MM + (held - REST_MM) * left
    return shrunk, first


def eating_again(days: Ints, reach: Floats) -> Floats:
    """Diameter that sets the appetite of classes that lay once their eggs are out, by days since 12 mm,
    (C, days): it falls past the 25 mm at which females go off food on the day they usually eat again.

    Without it a female that laid and of whom nothing was noted seems not to have laid once she eats.
    """
    ovulates = np.array([np.interp(OVULATION_MM.mean, MM, row) for row in reach])
    again = ovulates + WHOLE.mean + EATS_AFTER_EGGS_DAYS
    mm_day = OFF_FOOD_SD_MM / EATS_SD_DAYS
    found: Floats = biology.OFF_FOOD_FROM.value - mm_day * (days[None, :] - again[:, None])
    return np.maximum(found, REST_MM)


def fails_as(mm: float) -> Fate:
    """The fate of a follicle whose reabsorption sets in at a diameter: large from 20 mm on (published)."""
    return Fate.SMALL if mm < biology.DOMINANT_FROM.value else Fate.LARGE


def _classes(shape: Shape) -> tuple[Ints, Ints, Floats, NDArray[np.bool_]]:
    """Fate, levels and exit diameter of every class, and whether she stays off food; those that lay first."""
    rows: list[tuple[int, int, int, int, float]] = [
        (Fate.LAYS, i, j, k, np.nan)
        for i in range(len(shape.slow_z))
        for j in range(len(shape.turn_z))
        for k in range(len(shape.fast_z))
    ]
    for mm in (*shape.small_mm, *shape.large_mm, *shape.fasts_mm):
        rows += [(fails_as(mm), i, -1, -1, mm) for i in range(len(shape.fading_z))]
    fasts = np.arange(len(rows) + 1) >= len(rows) - len(shape.fasts_mm) * len(shape.fading_z)
    fasts[-1] = False
    rows.append((Fate.NEVER, -1, -1, -1, np.nan))
    table = np.array(rows)
    return table[:, 0].astype(int), table[:, 1:4].astype(int), table[:, 4], fasts


def _values(trait: Trait, z: tuple[float, ...], index: Ints) -> Floats:
    """Trait values by class; its centre where a class has no level."""
    at = np.array([*(trait.at(v) for v in z), trait.centre])
    found: Floats = at[index]
    return found


@lru_cache(maxsize=9)
def grid_of(shape: Shape = FINE) -> Grid:
    """Lay out the grid. Cost: about 50 ms once."""
    fate, levels, exit_mm, fasts = _classes(shape)
    slow = _values(SLOW, shape.slow_z, levels[:, 0])
    failing = (fate == Fate.SMALL) | (fate == Fate.LARGE)
    slow[failing] = _values(SLOW, shape.fading_z, levels[failing, 0])
    turn, fast = _values(TURN, shape.turn_z, levels[:, 1]), _values(FAST, shape.fast_z, levels[:, 2])
    at_slow, at_fast = calibration(shape.bend_mm)
    starts = shape.first_start + shape.step * np.arange(shape.starts)
    days = np.arange(-int(starts[-1]), LAST_DAY - shape.first_start + 1)
    diameters, reach = curves(
        slow * at_slow,
        np.maximum(fast * at_fast, slow * at_slow),
        turn,
        days.astype(np.float64),
        shape.bend_mm,
    )
    diameters[failing], first = faded(diameters[failing], exit_mm[failing])
    exit_day = np.full(len(fate), 10_000)
    exit_day[failing] = days[first]
    diameters[fate == Fate.NEVER] = REST_MM
    fasting = fasts[:, None] & (days[None, :] < exit_day[:, None] + FASTS_DAYS)
    hungry = np.where(fasting, np.maximum.accumulate(diameters, axis=1), diameters)
    lays = fate == Fate.LAYS
    hungry[lays] = np.minimum(hungry[lays], eating_again(days, reach[lays]))
    at = np.searchsorted(MM, (biology.OFF_FOOD_FROM.value, OVULATION_MM.mean))
    return Grid(
        shape,
        fate,
        levels,
        exit_mm,
        starts,
        fasts,
        _split(_bins(diameters)[:, ::-1], shape.step),
        _split(_bins(hungry)[:, ::-1], shape.step),
        int(days[-1]),
        np.rint(reach[:, at[0]] / shape.step).astype(int),
        np.rint(reach[:, at[1]] / shape.step).astype(int),
        exit_day,
        np.array([FAST.at(z) * at_fast for z in shape.fast_z]),
    )


def _bins(diameters: Floats) -> NDArray[np.uint8]:
    return np.clip(np.rint(diameters / BIN_MM), 0, BINS - 1).astype(np.uint8)


def _split(backwards: NDArray[np.uint8], step: int) -> NDArray[np.uint8]:
    """Days split by their number modulo the step: (C, J) to (step, C, ceil(J / step))."""
    width = -(-backwards.shape[1] // step)
    padded = np.pad(backwards, ((0, 0), (0, width * step - backwards.shape[1])))
    return np.ascontiguousarray(np.stack([padded[:, i::step] for i in range(step)]))
