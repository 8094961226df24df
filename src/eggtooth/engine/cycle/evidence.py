"""What the entries of one season say of a female's follicles and dates. A gap says nothing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np

from eggtooth.engine.cycle.grid import LAST_DAY, MM, OFF_FOOD_SD_MM, Floats
from eggtooth.engine.cycle.prior import MEETS_A_MALE
from eggtooth.engine.entries import Entry, Kind, Sign
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.normal import cdf

BAD_SCAN, BAD_SCAN_SD_MM = 0.04, 6.0
"""Share of scans that show something else, and how far off they are (our choice)."""

MANY, MANY_SD_MM = 3, 1.1
"""A scan that counts this many follicles averages over them and errs less (our choice)."""

ROUGH, ROUGHER = ", rough", 1.5
"""How a scan is called in a house that scans roughly, and how much more it errs (our choice)."""

BEYOND_RATES_MM = 0.5
"""How far a true follicle strays from any curve of the grid, as more error of a scan (our choice)."""

REFUSES, REFUSES_OFF_FOOD = 0.09, 0.80
ONE_MEAL_COUNTS = 0.7
"""Refusals come in runs: each counts for less than one free of the others (our choice)."""

SIGN_ODDS = 12.0
"""How much more often a late sign is seen from 25 mm to ovulation than otherwise (our choice)."""

SHED_COMING_DAYS = 14
LATE_SIGNS = frozenset({Sign.BOWL_WRAPPING, Sign.COOL_SEEKING, Sign.GLOW})


class Seen(NamedTuple):
    """One sighting that bears on the diameter of its day: `what` names its table over diameters."""

    day: int
    what: tuple[str, float]


@dataclass(frozen=True, slots=True)
class Evidence:
    """One female's season, in season days (0 = the day the breeding year turned).

    `follicles` are sightings that bear on the diameter; `sheds` ordinary sheds; `warm` and `swollen` days of
    those signs. `not_before` is the first day ovulation may lie on (after the last follicle seen), `watched`
    the last day anything was noted of her: what is not noted by then may not have come. `nights` are days on
    which a male was noted with her; `meets` the chance that she meets one in time where none is noted.
    """

    start: date
    today: int
    follicles: tuple[Seen, ...] = ()
    ovulation: int | None = None
    shed: int | None = None
    laid: int | None = None
    sheds: tuple[int, ...] = ()
    warm: tuple[int, ...] = ()
    swollen: tuple[int, ...] = ()
    met_male: bool = False
    not_before: int = 0
    watched: int = 0
    entries: tuple[Entry, ...] = ()
    nights: int = 0
    meets: float = MEETS_A_MALE

    def day(self, on: date) -> int:
        """Season day of a date."""
        return (on - self.start).days

    def date(self, day: int) -> date:
        """Date of a season day."""
        return self.start + timedelta(days=day)

    @property
    def empty(self) -> bool:
        """Whether nothing noted says anything of her season."""
        return not (self.follicles or self.met_male or self.entries)


def evidence_of(seen: History, start: date, end: date | None = None) -> Evidence:
    """Read one season, from the day the breeding year turned to `end` (the history's day if not given)."""
    end = min(end or seen.on, seen.on, start + timedelta(days=LAST_DAY))
    by = {k: seen.all(k, start) for k in SEASON_KINDS}
    if end < seen.on:
        by = {k: [e for e in entries if e.on <= end] for k, entries in by.items()}
    noted = _milestones(by)
    until = min((e.on for e in noted.values()), default=date.max)
    scans = [e for e in by[Kind.SCAN] if e.on < until and e.value is not None]
    meals = _telling_meals(by[Kind.MEAL], by[Kind.SHED], until)
    signs = _first_of_each(e for e in by[Kind.SIGN] if e.detail in LATE_SIGNS and e.on <= until)
    warm = [e for e in by[Kind.SIGN] if e.detail is Sign.HEAT_SEEKING]
    swollen = [e for e in by[Kind.SIGN] if e.detail is Sign.SWELLING]
    met = [*by[Kind.PAIRED], *by[Kind.LOCK]]

    def days(entries: Iterable[Entry]) -> tuple[int, ...]:
        return tuple((e.on - start).days for e in entries)

    def day_noted(kind: Kind) -> int | None:
        return (noted[kind].on - start).days if kind in noted else None

    shown = sorted([*scans, *meals, *signs], key=lambda e: e.on)
    return Evidence(
        start,
        (seen.on - start).days,
        tuple(Seen((e.on - start).days, _what(e)) for e in shown),
        day_noted(Kind.OVULATION),
        day_noted(Kind.PRELAY_SHED),
        day_noted(Kind.LAID),
        days(by[Kind.SHED]),
        days(warm),
        days(swollen),
        bool(met),
        max(days(e for e in scans if e.value), default=-1) + 1,
        max(((entries[-1].on - start).days for entries in by.values() if entries), default=0),
        (*scans[-3:], *signs, *warm, *swollen, *met[-1:], *noted.values()),
        len({e.on for e in met}),
    )


MILESTONES = (Kind.OVULATION, Kind.PRELAY_SHED, Kind.LAID)
SEASON_KINDS = (*MILESTONES, Kind.SCAN, Kind.MEAL, Kind.SHED, Kind.SIGN, Kind.PAIRED, Kind.LOCK, Kind.WEIGHT)
LONGEST_WAIT_DAYS = 90


def _milestones(by: Mapping[Kind, Sequence[Entry]]) -> dict[Kind, Entry]:
    """The milestones noted, each by its latest entry; one that cannot go with a later one is left out.

    The later stage stands: an ovulation noted after the shed, or months before it, is a slip (the check of
    the records names it).
    """
    kept: dict[Kind, Entry] = {}
    for kind in reversed(MILESTONES):
        for entry in by[kind][-1:]:
            after = list(kept.values())[-1:]
            if all(0 <= (e.on - entry.on).days <= LONGEST_WAIT_DAYS for e in after):
                kept[kind] = entry
    return {k: kept[k] for k in MILESTONES if k in kept}


def _telling_meals(meals: Sequence[Entry], sheds: Sequence[Entry], until: date) -> list[Entry]:
    """Meals that tell of follicles: a refusal in the two weeks before any shed tells of that."""

    def before_shed(meal: Entry) -> bool:
        return any(0 <= (s.on - meal.on).days <= SHED_COMING_DAYS for s in sheds)

    return [e for e in meals if e.on < until and (e.value or not before_shed(e))]


def _first_of_each(signs: Iterable[Entry]) -> list[Entry]:
    first: dict[object, Entry] = {}
    for entry in signs:
        first.setdefault(entry.detail, entry)
    return list(first.values())


def _what(entry: Entry) -> tuple[str, float]:
    if entry.kind is Kind.MEAL:
        return ("meal", float(bool(entry.value)))
    if entry.kind is Kind.SIGN:
        return ("sign", 1.0)
    many = isinstance(entry.detail, int) and entry.detail >= MANY
    return ("scan of many" if many else "scan", float(entry.value or 0))


def log_likelihood(what: tuple[str, float]) -> Floats:
    """Log likelihood of a sighting by true diameter, over `MM`, but for a constant."""
    kind, value = what
    if kind == "meal":
        return ONE_MEAL_COUNTS * np.log(_refuses() if value == 0 else 1 - _refuses())
    if kind == "sign":
        return _sign()
    sd = MANY_SD_MM if kind.startswith("scan of many") else biology.SCAN_ERROR.value
    sd *= ROUGHER if kind.endswith(ROUGH) else 1.0
    return _none_seen(sd) if value == 0 else _scan(value, sd)


def _step(at_mm: float, width_mm: float) -> Floats:
    """From 0 to 1 around a diameter."""
    risen: Floats = cdf((MM - at_mm) / width_mm)
    return risen


def _refuses() -> Floats:
    off = _step(biology.OFF_FOOD_FROM.value, OFF_FOOD_SD_MM)
    return REFUSES + (REFUSES_OFF_FOOD - REFUSES) * off


def _sign() -> Floats:
    """Late signs: from about 25 mm on, and less once the curve is well past ovulation."""
    late = _step(biology.OFF_FOOD_FROM.value, 2.0) * (1 - 0.8 * _step(52.0, 2.0))
    found: Floats = np.log1p((SIGN_ODDS - 1) * late)
    return found


def _scan(value_mm: float, sd_mm: float) -> Floats:
    """A diameter read: normal error, or a scan of something else."""
    sd = np.hypot(sd_mm, BEYOND_RATES_MM)

    def density(sd: float) -> Floats:
        curve: Floats = np.exp(-(((value_mm - MM) / sd) ** 2) / 2) / sd
        return curve

    found: Floats = np.log((1 - BAD_SCAN) * density(float(sd)) + BAD_SCAN * density(BAD_SCAN_SD_MM) + 1e-9)
    return found


def _none_seen(sd_mm: float) -> Floats:
    """Nothing seen: too small to see, overlooked, or already ovulated (past the size of ovulation)."""
    small = 1 - _step(biology.FIRST_SEEN.value - 0.5, float(np.hypot(sd_mm, BEYOND_RATES_MM)))
    overlooked, ovulated = 0.01, 0.5 * _step(biology.OVULATION_AT.value + 3.0, 2.5)
    found: Floats = np.log(np.maximum(small, np.maximum(overlooked, ovulated)))
    return found
