"""From the day a clutch was laid, and the temperatures it had, to the day it pips."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta

from eggtooth.engine.entries import Entry
from eggtooth.engine.facts import biology
from eggtooth.engine.spans import Span


def days_at(celsius: float) -> float:
    """Incubation in days at a constant temperature: D(T) = D0 exp(-b (T - 31.5)).

    Central figures: 58.5 days at 31.5 °C (common practice, inside Ellis & Chappell 1987) and b = 0.055
    per °C (from Shine et al. 1997 and other snakes).
    """
    return biology.INCUBATION_AT_31_5.value * math.exp(-biology.INCUBATION_SLOPE.value * (celsius - 31.5))


def pip_date(laid: date, temperatures: Sequence[Entry], target_c: float, on: date) -> Span:
    """When the clutch pips: daily rates 1/D(T) summed over the logged days, at the target where none is.

    `temperatures` are `temperature` entries of the incubator. The spread joins the incubation figure's own,
    the slope's over the distance from 31.5 °C and the difference between clutches.
    """
    days, mean_c = _days_to_pip(laid, _by_day(temperatures), target_c, on)
    share = math.hypot(
        biology.INCUBATION_RESIDUAL_CV.value / 100,
        2.5 / biology.INCUBATION_AT_31_5.value,
        0.015 * (mean_c - 31.5),
    )
    return Span.normal(laid, days, days * share)


def _by_day(temperatures: Sequence[Entry]) -> dict[date, float]:
    sums: dict[date, list[float]] = {}
    for entry in temperatures:
        if entry.value is not None and 15 < entry.value < 45:
            sums.setdefault(entry.on, []).append(entry.value)
    return {day: sum(values) / len(values) for day, values in sums.items()}


def _days_to_pip(laid: date, by_day: dict[date, float], target_c: float, on: date) -> tuple[float, float]:
    """Days until the summed rate is one, and the mean temperature over them."""
    done, days, heat = 0.0, 0, 0.0
    last = target_c
    while True:
        day = laid + timedelta(days=days)
        last = by_day.get(day, last if day <= on else target_c)
        rate = 1 / days_at(last)
        if done + rate >= 1:
            return days + (1 - done) / rate, (heat + last) / (days + 1)
        done, days, heat = done + rate, days + 1, heat + last
