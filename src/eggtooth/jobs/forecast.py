"""Every female's season on a day: gather, ask the engine."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from eggtooth.engine.cycle.evidence import evidence_of
from eggtooth.engine.cycle.females import females_of
from eggtooth.engine.cycle.forecast import Outlook, blocks, told_of
from eggtooth.engine.cycle.habit import own_rates
from eggtooth.engine.cycle.next_scan import NextScan, next_scans
from eggtooth.engine.cycle.prior import read
from eggtooth.engine.eggs.incubation import days_at
from eggtooth.engine.facts import biology
from eggtooth.jobs.gather import Source


@dataclass(frozen=True, slots=True)
class Female:
    """One female, her season as it stands and the scan that would tell most of it."""

    tag: str
    outlook: Outlook
    next_scan: NextScan | None


def forecast_on(source: Source, on: date) -> list[Female]:
    """The seasons of the females in the room, by tag."""
    females = females_of(source.colony, on, source.settings)
    start = source.settings.season_start(on)
    found = [evidence_of(seen, start) for _, seen in females]
    incubation = incubation_at(source.settings.incubator_c)
    told: list[tuple[Outlook, NextScan | None]] = []
    house = read(source.settings.learned_rates)
    own = own_rates([seen for _, seen in females], source.settings, house)
    for block in blocks(found, own):
        told += zip(told_of(block, incubation), next_scans(block), strict=True)
    return [Female(animal.tag, *what) for (animal, _), what in zip(females, told, strict=True)]


def incubation_at(celsius: float) -> tuple[float, float]:
    """Days from laid to pip at a steady temperature, and their spread, in days."""
    days = days_at(celsius)
    between = biology.INCUBATION_RESIDUAL_CV.value / 100
    return days, days * math.hypot(between, 2.5 / biology.INCUBATION_AT_31_5.value, 0.015 * (celsius - 31.5))
