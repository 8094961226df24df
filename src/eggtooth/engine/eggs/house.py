"""A house's own incubation: how much sooner or later than usual its clutches pip at the temperatures noted.

Every finished clutch tells its worth in days at 31.5 °C. The house's log shift from the usual figure has the
prior N(0, s0^2) of the figure's own spread; a clutch reads it with the spread between clutches. Both are
normal, so the posterior is exact. Thermometers that read wrong are learned along with it, since the log is
taken at its word.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from eggtooth.engine.facts import biology
from eggtooth.engine.facts.fact import Normal

REFERENCE_C = 31.5


def _own() -> tuple[float, float]:
    """Log spread of the usual figure, and of one clutch about its house."""
    own = biology.INCUBATION_AT_31_5.varies
    assert isinstance(own, Normal)
    return own.sd / own.mean, biology.INCUBATION_RESIDUAL_CV.value / 100


@dataclass(frozen=True, slots=True)
class House:
    """Log shift of a house's incubation from the usual, its standard deviation, and clutches behind it."""

    shift: float
    sd: float
    clutches: int


def usual() -> House:
    """A house of which no clutch is known."""
    return House(0.0, _own()[0], 0)


def house_of(worths_days: Iterable[float]) -> House:
    """The house from its finished clutches' worths in days at 31.5 °C (`worth_days`).

    A clutch more than four spreads off, as by a mistyped date, is left out.
    """
    prior_sd, clutch_sd = _own()
    usual_days = biology.INCUBATION_AT_31_5.value
    logs = [math.log(w / usual_days) for w in worths_days if w > 0]
    kept = [x for x in logs if abs(x) <= 4 * math.hypot(prior_sd, clutch_sd)]
    weight = 1 / prior_sd**2 + len(kept) / clutch_sd**2
    return House(sum(kept) / clutch_sd**2 / weight, math.sqrt(1 / weight), len(kept))


def worth_days(celsius: Sequence[float]) -> float:
    """What the days of a clutch, by their temperatures, are worth at 31.5 °C."""
    slope = biology.INCUBATION_SLOPE.value
    return sum(math.exp(slope * (c - REFERENCE_C)) for c in celsius)
