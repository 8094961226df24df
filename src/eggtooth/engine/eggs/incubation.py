"""From the day a clutch was laid, and the temperatures it had, to the day it pips."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

import numpy as np

from eggtooth.engine.eggs.house import REFERENCE_C, House, usual
from eggtooth.engine.entries import Entry
from eggtooth.engine.facts import biology
from eggtooth.engine.facts.fact import Normal
from eggtooth.engine.normal import Floats, cdf
from eggtooth.engine.spans import LEVELS, Span

LONGEST_DAYS = 200
RECENT_DAYS = 14
SLOPE_NODES = tuple(
    (z, w)
    for z, w in (
        (-2.8570, 0.011257),
        (-1.3556, 0.222076),
        (0.0, 0.533333),
        (1.3556, 0.222076),
        (2.8570, 0.011257),
    )
)
"""Five-point Gauss-Hermite nodes and weights for a standard normal."""


def days_at(celsius: float, slope: float | None = None) -> float:
    """Incubation in days at a constant temperature: D(T) = D0 exp(-b (T - 31.5)).

    Central figures: 58.5 days at 31.5 °C (common practice, inside Ellis & Chappell 1987) and b = 0.055
    per °C (from Shine et al. 1997 and other snakes); `slope` puts another b in its place.
    """
    b = biology.INCUBATION_SLOPE.value if slope is None else slope
    return biology.INCUBATION_AT_31_5.value * math.exp(-b * (celsius - REFERENCE_C))


@dataclass(frozen=True, slots=True)
class Warmth:
    """Temperature in °C on each day from laying on: logged where noted, else as before or as the target says.

    `known` is how many of the days lie in the past.
    """

    laid: date
    celsius: tuple[float, ...]
    known: int

    def mean(self, days: int) -> float:
        """Mean over the first days."""
        return sum(self.celsius[:days]) / max(1, days)


def warmth(laid: date, temperatures: Sequence[Entry], target_c: float, on: date) -> Warmth:
    """The temperatures of a clutch. A day without a reading is like the day before it, the days ahead are
    at the target, moved by half of how far the last two weeks' readings lie from it (a thermostat strays): of
    the incubator read last, where the clutch moved from another."""
    by_day = _by_day(temperatures)
    now = _by_day([e for e in temperatures if e.tag == temperatures[-1].tag])
    recent = [c for d, c in now.items() if on - timedelta(days=RECENT_DAYS) <= d <= on]
    ahead = target_c + (0.5 * (sum(recent) / len(recent) - target_c) if recent else 0.0)
    last, celsius = target_c, []
    for n in range(LONGEST_DAYS):
        day = laid + timedelta(days=n)
        last = by_day.get(day, last) if day <= on else ahead
        celsius.append(last)
    return Warmth(laid, tuple(celsius), max(0, min(LONGEST_DAYS, (on - laid).days)))


def pip_date(
    laid: date,
    temperatures: Sequence[Entry],
    target_c: float,
    on: date,
    *,
    unpipped: bool = False,
    house: House | None = None,
) -> Span:
    """When the clutch pips: daily rates 1/D(T) summed until they are one.

    `temperatures` are `temperature` entries of the incubator; see `warmth`. The spread joins the incubation
    figure's own, the slope's (5-point quadrature), the difference between clutches and a straying thermostat.
    `unpipped` says that it has surely not pipped by `on`; `house` how this house's clutches differ from the
    usual (`eggs.house`), narrowing the spread.
    """
    days = pip_days(warmth(laid, temperatures, target_c, on), (on - laid).days if unpipped else 0, house)
    return Span(*(laid + timedelta(days=round(d)) for d in days))


def pip_days(warm: Warmth, not_before: int = 0, house: House | None = None) -> list[float]:
    """Days from laying to pipping at the levels of a `Span`, given that `not_before` days passed without."""
    chance = pip_chances(warm, house)
    passed = chance[min(not_before, LONGEST_DAYS)]
    return [_crossing(chance, passed + p * (1 - passed)) for p in LEVELS]


def pip_chances(warm: Warmth, house: House | None = None) -> Floats:
    """Chance of having pipped by the end of each day, days 0 to 200 from laying, `[201]`."""
    slopes, weights = _slopes()
    rates = np.exp(slopes * (np.array(warm.celsius) - REFERENCE_C))
    done = np.cumsum(rates, axis=1)
    ahead = done - done[:, warm.known - 1 : warm.known] if warm.known else done
    total = np.zeros(LONGEST_DAYS + 1)
    total[1:] = weights @ _reached(done, slopes * np.maximum(ahead, 0.0) / done, house or usual())
    return total


@cache
def _slopes() -> tuple[Floats, Floats]:
    """The slopes of `SLOPE_NODES` per °C, `[5, 1]`, and their weights, `[5]`."""
    slope = biology.INCUBATION_SLOPE.varies
    assert isinstance(slope, Normal)
    z, weights = np.array(SLOPE_NODES).T
    return (slope.mean + z * slope.sd)[:, None], weights


def _reached(done: Floats, per_degree: Floats, house: House) -> Floats:
    """Chance that a clutch needs no more than `done` days' worth at 31.5 °C, any shape."""
    own = math.hypot(house.sd, biology.INCUBATION_RESIDUAL_CV.value / 100)
    sd = np.hypot(own, per_degree * biology.THERMOSTAT_SD.value)
    return cdf((np.log(done / biology.INCUBATION_AT_31_5.value) - house.shift) / sd)


def _crossing(chance: Floats, level: float) -> float:
    """Where a rising row first reaches a level, by straight lines; its end when it never does."""
    there = chance[1:] >= level
    n = int(np.argmax(there)) + 1
    if not there[n - 1]:
        return float(len(chance) - 1)
    rise = chance[n] - chance[n - 1]
    return float(n - 1 + ((level - chance[n - 1]) / rise if rise > 0 else 1.0))


def _by_day(temperatures: Sequence[Entry]) -> dict[date, float]:
    sums: dict[date, list[float]] = {}
    for entry in temperatures:
        if entry.value is not None and 15 < entry.value < 45:
            sums.setdefault(entry.on, []).append(entry.value)
    return {day: sum(values) / len(values) for day, values in sums.items()}
