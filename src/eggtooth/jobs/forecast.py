"""Every female's season on a day: gather, ask the engine."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from eggtooth.engine.cycle.females import females_of
from eggtooth.engine.cycle.forecast import Outlook, forecast
from eggtooth.engine.eggs.incubation import days_at
from eggtooth.engine.facts import biology
from eggtooth.jobs.gather import Source


@dataclass(frozen=True, slots=True)
class Female:
    """One female and her season as it stands."""

    tag: str
    outlook: Outlook


def forecast_on(source: Source, on: date) -> list[Female]:
    """The seasons of the females in the room, by tag."""
    females = females_of(source.colony, on, source.settings)
    told = forecast(
        [seen for _, seen in females],
        source.settings,
        incubation=incubation_at(source.settings.incubator_c),
    )
    return [Female(animal.tag, outlook) for (animal, _), outlook in zip(females, told, strict=True)]


def incubation_at(celsius: float) -> tuple[float, float]:
    """Days from laid to pip at a steady temperature, and their spread, in days."""
    days = days_at(celsius)
    between = biology.INCUBATION_RESIDUAL_CV.value / 100
    return days, days * math.hypot(between, 2.5 / biology.INCUBATION_AT_31_5.value, 0.015 * (celsius - 31.5))
