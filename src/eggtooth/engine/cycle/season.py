"""Where a female stands in her season and when what comes next, by the plain rates of common practice."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from eggtooth.engine.entries import Entry, Kind, Sign
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.spans import Span


class Stage(StrEnum):
    """Stages of a season."""

    RESTING = "resting"
    GROWING = "growing"
    BUILDING = "building"
    OVULATED = "ovulated"
    SHED = "shed"
    LAID = "laid"


PAST_OVULATION = frozenset({Stage.OVULATED, Stage.SHED, Stage.LAID})


@dataclass(frozen=True, slots=True)
class Season:
    """A female's season as it stands: stage, the entry it rests on and the dates ahead with their spread."""

    stage: Stage
    basis: Entry | None
    follicle_mm: float | None
    ovulation: Span | None = None
    prelay_shed: Span | None = None
    laid: Span | None = None


def season_of(seen: History, settings: Settings) -> Season:
    """Read one female's season from her entries since the breeding year turned.

    The latest milestone counts: laid, pre-lay shed, ovulation, else the last scan. Plain rates: 6 mm a
    month to 25 mm, then 1.14 mm a day to 44 mm; 18 days to the pre-lay shed; 31 more to the eggs.
    """
    start = settings.season_start(seen.on)
    ovulation, shed, laid = (seen.last(k, start) for k in (Kind.OVULATION, Kind.PRELAY_SHED, Kind.LAID))
    if laid:
        return Season(Stage.LAID, laid, None, laid=Span.seen(laid.on))
    if shed:
        return _after_shed(shed, ovulation)
    if ovulation:
        return _after_ovulation(ovulation)
    return _from_scan(seen, start)


def _after_shed(shed: Entry, ovulation: Entry | None) -> Season:
    seen = Span.seen(ovulation.on) if ovulation else Span.before(shed.on, biology.OVULATION_TO_SHED.varies)
    return Season(
        Stage.SHED, shed, None, seen, Span.seen(shed.on), Span.of(shed.on, biology.SHED_TO_LAID.varies)
    )


def _after_ovulation(seen: Entry) -> Season:
    shed = Span.of(seen.on, biology.OVULATION_TO_SHED.varies)
    laid = Span.of(seen.on, biology.OVULATION_TO_LAID.varies)
    return Season(Stage.OVULATED, seen, None, Span.seen(seen.on), shed, laid)


def _from_scan(seen: History, start: date) -> Season:
    scan = seen.last(Kind.SCAN, start)
    if scan is None or scan.value is None:
        return Season(Stage.RESTING, None, None)
    mm = scan.value
    if mm < biology.TRANSITION_BELOW.value:
        return Season(Stage.RESTING, scan, mm)
    days, sd = days_to_ovulation(mm)
    late = max(0.0, (scan.on - seen.on).days + days)
    ovulation = Span.normal(scan.on, days, sd) if late else Span.normal(seen.on, 3, sd / 2)
    to_laid = days + biology.OVULATION_TO_LAID.value
    stage = Stage.BUILDING if mm_now(mm, scan.since(seen.on)) >= biology.HINGE.value else Stage.GROWING
    return Season(
        stage,
        scan,
        mm,
        ovulation,
        Span.normal(scan.on, days + biology.OVULATION_TO_SHED.value, math.hypot(sd, 4)),
        Span.normal(scan.on, to_laid, math.hypot(sd, 5)),
    )


def days_to_ovulation(mm: float) -> tuple[float, float]:
    """Mean and standard deviation of the days from a scan of `mm` to ovulation, by the plain rates."""
    slow, fast = biology.SLOW_GROWTH, biology.FAST_GROWTH
    slow_days = max(0.0, biology.HINGE.value - mm) / slow.value
    fast_days = max(0.0, biology.OVULATION_AT.value - max(mm, biology.HINGE.value)) / fast.value
    size_sd = (
        math.hypot(1.5, 3.0) / fast.value
        if mm >= biology.HINGE.value
        else math.hypot(1.5, 2.0) / slow.value / 2
    )
    return slow_days + fast_days, math.hypot(0.35 * slow_days, 0.30 * fast_days, size_sd)


def mm_now(mm: float, days: int) -> float:
    """Diameter some days after a scan, by the plain rates, at most the size of ovulation."""
    slow, fast, hinge = biology.SLOW_GROWTH.value, biology.FAST_GROWTH.value, biology.HINGE.value
    slow_days = max(0.0, hinge - mm) / slow
    if days <= slow_days:
        return mm + slow * days
    return min(biology.OVULATION_AT.value, max(mm, hinge) + fast * (days - slow_days))


def scan_every_days(season: Season, mm: float | None) -> int | None:
    """How often to scan at this stage; `None` after ovulation. Closer as the window nears (our choice)."""
    if season.stage in PAST_OVULATION:
        return None
    if mm is None or mm < biology.TRANSITION_BELOW.value:
        return 28
    return 14 if mm < biology.DOMINANT_FROM.value else 7 if mm < 35 else 3


LATE_SIGNS = frozenset({Sign.BOWL_WRAPPING, Sign.COOL_SEEKING, Sign.GLOW, Sign.SWELLING})


def late_signs(seen: History, start: date) -> list[Entry]:
    """Signs this season that go with large follicles or ovulation."""
    return [e for e in seen.all(Kind.SIGN, start) if e.detail in LATE_SIGNS]
