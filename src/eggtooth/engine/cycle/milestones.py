"""Ovulation, pre-lay shed and eggs: messages along the two waits between them, by day.

Durations have distributions of their own, so each message is a sum over the days a wait may take. Until the
pre-lay shed is seen, the second wait is narrowed so that ovulation to eggs keeps its own spread (common
practice); a shed that was seen starts the clock anew and the ovulation guess is forgotten.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.prior import Rates, Trait
from eggtooth.engine.normal import cdf

Floats = np.ndarray[tuple[int, ...], np.dtype[np.float64]]

FIRST_DAY, DAYS = 0, 560
"""Season days on which a milestone may lie."""

SHED_DAYS, LAY_DAYS = (10, 30), (18, 55)
"""Least and most days of the two waits, but for odd ones."""

ODD = 1e-3
"""Share of waits outside what common practice tells, so that an odd note stays possible."""

SHED_TAKEN_FOR_ORDINARY, ORDINARY_SHEDS_DAY = 0.25, 1 / 45
WARM_ODDS, WARM_DAYS = 8.0, 30
SWELLING_ODDS = 60.0


def wait_pmf(trait: Trait, low: int, high: int) -> Floats:
    """Chance of each whole number of days of a wait, 0 to 90; kept to `low`..`high` but for a share `ODD`."""
    edges = np.maximum(np.arange(92) - 0.5, 1e-9)
    raw = np.log(edges) if trait.log else edges
    mass = np.diff(cdf((raw - trait.mean) / trait.sd))
    days = np.arange(91)
    mass[(days < low) | (days > high)] = 0
    return np.asarray((1 - ODD) * mass / mass.sum() + ODD / len(days))


def ended(by_day: Floats, pmf: Floats) -> Floats:
    """From the weight of a wait's first day to that of its last, (F, DAYS); later days are dropped.

    What every wait of up to 90 days shares is one running sum; the rest is added wait by wait.
    """
    upto, least, days = np.cumsum(by_day, axis=1), pmf.min(), by_day.shape[1]
    found = least * upto
    found[:, len(pmf) :] -= least * upto[:, : days - len(pmf)]
    for wait in np.flatnonzero(pmf > least):
        found[:, wait:] += (pmf[wait] - least) * by_day[:, : days - wait]
    return np.asarray(found)


def begun(by_day: Floats, pmf: Floats) -> Floats:
    """What is said of a wait's last day, told of its first, (F, DAYS): the transpose of `ended`."""
    return ended(by_day[:, ::-1], pmf)[:, ::-1]


@dataclass(frozen=True, slots=True)
class Waits:
    """Chances of 0 to 90 days: ovulation to shed; shed to eggs after a seen shed, and before one was seen."""

    shed: Floats
    lay_seen: Floats
    lay_unseen: Floats


@lru_cache(maxsize=8)
def waits_of(rates: Rates) -> Waits:
    """Lay out the waits for a set of rates."""
    rest = max(rates.whole_sd**2 - rates.shed.sd**2, 1.0) ** 0.5
    unseen = Trait(rates.lay.mean, min(rest / rates.lay.centre, rates.lay.sd), log=True)
    return Waits(
        wait_pmf(rates.shed, *SHED_DAYS), wait_pmf(rates.lay, *LAY_DAYS), wait_pmf(unseen, *LAY_DAYS)
    )


@dataclass(frozen=True, slots=True)
class Sightings:
    """Likelihood of what was noted about the three dates, by day, each (F, DAYS); `seen_shed` is (F,)."""

    ovulation: Floats
    shed: Floats
    laid: Floats
    seen_shed: np.ndarray


def sightings_of(found: Sequence[Evidence], rates: Rates) -> Sightings:
    """Likelihood by day of the milestones as noted, or not noted while she was watched by a house that notes
    as often as `rates` tell."""
    shape = (len(found), DAYS)
    ovulation, shed, laid = np.ones(shape), np.ones(shape), np.ones(shape)
    for i, e in enumerate(found):
        _at(ovulation[i], e.ovulation, e.watched, rates.ovulation_noted)
        _at(shed[i], e.shed, e.watched, rates.shed_noted)
        _at(laid[i], e.laid, e.watched - 1, rates.laid_noted)
        ovulation[i, : e.not_before if e.ovulation is None else 0] = 0
        _signs(ovulation[i], e)
        if e.shed is None:
            _ordinary(shed[i], e)
    return Sightings(ovulation, shed, laid, np.array([e.shed is not None for e in found], dtype=bool))


def _at(days: Floats, noted: int | None, watched: int, share: float) -> None:
    """Noted: that day and no other. Not noted: less likely to have come while she was watched."""
    if noted is None:
        days[: max(watched, 0)] = 1 - share
        return
    days[:] = 0
    days[noted] = share


def _signs(ovulation: Floats, e: Evidence) -> None:
    days = np.arange(DAYS)
    for day in e.warm[:1]:
        ovulation *= np.where((days < day) & (days >= day - WARM_DAYS), WARM_ODDS, 1.0)
    for day in e.swollen[:1]:
        ovulation *= np.where(np.abs(days - day) <= 1, SWELLING_ODDS, 1.0)


def _ordinary(shed: Floats, e: Evidence) -> None:
    """A shed noted as an ordinary one may have been the pre-lay shed."""
    for day in e.sheds:
        shed[day] += SHED_TAKEN_FOR_ORDINARY / ORDINARY_SHEDS_DAY * shed[day]


@dataclass(frozen=True, slots=True)
class Messages:
    """Backward messages by day, (F, DAYS): what later sightings say of a shed or an ovulation that day."""

    shed: Floats
    ovulation: Floats


def backward(seen: Sightings, waits: Waits) -> Messages:
    """Chance of all that was noted from the ovulation on, by day of ovulation. Cost: F × 560 × 91 twice."""
    shed = seen.shed * _by_shed(seen, waits, seen.laid, begun)
    return Messages(shed, seen.ovulation * begun(shed, waits.shed))


def _by_shed(
    seen: Sightings, waits: Waits, by_day: Floats, way: Callable[[Floats, Floats], Floats]
) -> Floats:
    """Along the wait from shed to eggs, one way or the other, by whether her shed was seen."""
    found = np.empty_like(by_day)
    for who, wait in ((seen.seen_shed, waits.lay_seen), (~seen.seen_shed, waits.lay_unseen)):
        found[who] = way(by_day[who], wait)
    return found


@dataclass(frozen=True, slots=True)
class Dates:
    """Posterior by day of the three dates given that she lays, each (F, DAYS), rows summing to one."""

    ovulation: Floats
    shed: Floats
    laid: Floats


def dates(forward: Floats, seen: Sightings, back: Messages, waits: Waits) -> Dates:
    """Join the forward message of ovulation by day, (F, DAYS), with what was noted of the milestones."""
    to_shed = ended(forward * seen.ovulation, waits.shed)
    to_laid = _by_shed(seen, waits, to_shed * seen.shed, ended)
    return Dates(
        _sum_to_one(forward * back.ovulation),
        _sum_to_one(to_shed * back.shed),
        _sum_to_one(to_laid * seen.laid),
    )


def _sum_to_one(weights: Floats) -> Floats:
    total = weights.sum(axis=1, keepdims=True)
    if not np.all(total > 0):
        raise ValueError("what was noted cannot be: no course of the season allows it")
    return np.asarray(weights / total)
