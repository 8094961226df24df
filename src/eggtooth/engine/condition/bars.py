"""What stands between an animal and breeding: ripe mass, mass to be regained, age, the last clutch, rest."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.condition.growing import Growing
from eggtooth.engine.condition.readiness import MONTH_DAYS
from eggtooth.engine.entries import Entry, Kind, Sign
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.wording import say

LEAST_OF_BEST = 0.9
"""An animal below this share of its best mass of the last year has lost too much to breed (our choice)."""
RIPE_WITH_PLUG = 0.95
"""Chance that a male that passed a sperm plug is ripe (our choice; common practice reads it as maturity)."""


@dataclass(frozen=True, slots=True)
class Bar:
    """What stands between an animal and breeding.

    `half_g`, `scale_g`: the mass at which one in two is ready, logistic; `least_g` a mass to be regained;
    `not_before` a first day; `sure` a floor under the chance by mass, for a male whose sperm plugs were seen.
    """

    half_g: float
    scale_g: float
    least_g: float
    not_before: date | None
    sure: float
    reasons: tuple[str, ...]
    entries: tuple[Entry, ...]


def bar_of(grown: Growing, row: int, seen: History, settings: Settings) -> Bar:
    """What stands between one animal and breeding on the day its history ends."""
    animal = grown.animals[row]
    half, scale = _ready_mass(animal.sex, settings)
    plug = _plug(seen) if animal.sex is Sex.MALE else None
    least, why, basis = _to_regain(grown, row, seen)
    first, later = _not_before(animal, seen, settings, plug)
    reasons = tuple(
        r for r in (why, later, say("sperm plug {on:%-d %b %Y}", on=plug.on) if plug else "") if r
    )
    return Bar(
        half,
        scale,
        least,
        first,
        RIPE_WITH_PLUG if plug else 0.0,
        reasons,
        tuple(filter(None, (plug, *basis))),
    )


def _ready_mass(sex: Sex, settings: Settings) -> tuple[float, float]:
    """Mass at which one in two is ready and the logistic's scale, moved by the keeper's own least mass."""
    if sex is Sex.MALE:
        half, most = biology.MALE_READY_HALF, biology.MALE_READY_MOST
        moved = settings.male_least_g - biology.MALE_LEAST_MASS.value
    else:
        half, most = biology.FEMALE_READY_HALF, biology.FEMALE_READY_MOST
        moved = settings.female_least_g - biology.FEMALE_USUAL_MASS.value
    return half.value + moved, (most.value - half.value) / math.log(9)


def _plug(seen: History) -> Entry | None:
    return next((e for e in reversed(seen.all(Kind.SIGN)) if e.detail is Sign.SPERM_PLUG), None)


def _to_regain(grown: Growing, row: int, seen: History) -> tuple[float, str, tuple[Entry, ...]]:
    """A mass to be regained: 95 % of that before the last clutch, else 90 % of the best of the last year."""
    laid = seen.last(Kind.LAID)
    steps = grown.tracks[row].steps
    mass = np.exp(grown.smoothed.belief.log_mass[row, -len(steps) :])
    known = [i for i, (e, w) in _trusted(grown, row) if w > 0.5 and e.on <= grown.on]
    if laid:
        before = [i for i in known if 60 <= (laid.on - steps[i].on).days <= 400]
        if before:
            i = min(before, key=lambda i: abs((laid.on - steps[i].on).days - 170))
            least = biology.BACK_TO_MASS.value * float(mass[i])
            weighed = steps[i].weighing
            return (
                least,
                say("{least:.0f} g is 95 % of her mass before her last clutch", least=least),
                tuple(filter(None, (weighed, laid))),
            )
    year = [i for i in known if (grown.on - steps[i].on).days <= 365 and not (laid and steps[i].on < laid.on)]
    if not year:
        return 0.0, "", ()
    best = max(year, key=lambda i: mass[i])
    least = LEAST_OF_BEST * float(mass[best])
    lost = 1 - float(mass[-1]) / float(mass[best])
    said = say("{lost:.0f} % below its best of the last year", lost=100 * lost) if lost > 0.05 else ""
    return least, said, ()


def _trusted(grown: Growing, row: int) -> list[tuple[int, tuple[Entry, float]]]:
    """Step number, weighing and trust of one animal's weighings."""
    steps = grown.tracks[row].steps
    trust = grown.smoothed.trust[row, -len(steps) :]
    return [
        (i, (s.weighing, float(w))) for i, (s, w) in enumerate(zip(steps, trust, strict=True)) if s.weighing
    ]


def _not_before(
    animal: Animal, seen: History, settings: Settings, plug: Entry | None
) -> tuple[date | None, str]:
    """The first day age, the last clutch and rest allow, and why."""
    male = animal.sex is Sex.MALE
    start = settings.season_start(seen.on)
    next_year = date(start.year + 1, start.month, min(start.day, 28))
    if laid := seen.last(Kind.LAID, start):
        return next_year, say("laid {on:%-d %b}; one clutch a year", on=laid.on)
    if male and (rested := seen.last(Kind.RESTED, start)):
        return next_year, say("rested since {on:%-d %b}", on=rested.on)
    if animal.hatched is None or plug or seen.last(Kind.LAID):
        return None, ""
    months = settings.male_floor_months if male else settings.female_floor_months
    floor = animal.hatched + timedelta(days=round(months * MONTH_DAYS))
    return (
        (floor, say("{months:g} months old on {floor:%-d %b %Y}", months=months, floor=floor))
        if floor > seen.on
        else (None, "")
    )
