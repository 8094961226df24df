"""Incubator places over time, and temperatures against their target."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.utils.html import format_html
from django.utils.safestring import SafeString

from eggtooth.engine.planning.places import PlacesDay
from eggtooth.web.days import day_month
from eggtooth.web.pictures.axis import TimeAxis
from eggtooth.web.pictures.plane import Plane
from eggtooth.web.speech import number, spoken, spoken_n

SHOWN_FROM = 0.005
"""A chance of running out below this on every day is not drawn."""


def places(days: Sequence[PlacesDay], held: int, on: date) -> SafeString:
    """Clutches by day with their spread against the places there are; under it the chance of too few."""
    axis = TimeAxis(days[0].on, days[-1].on)
    most = max(held, *(d.q95 for d in days))
    plane = Plane(axis, 0, most * 1.15 + 1, 140, spoken("clutches"))
    curves = (
        plane.band([(d.on, d.q05, d.q95) for d in days], "fan"),
        plane.line([(d.on, d.q50) for d in days], "middle"),
    )
    rule = plane.rule(held, spoken_n("{n} place", "{n} places", n=held))
    return format_html(
        "{}{}",
        plane.drawn(on, curves, (rule,), spoken("clutches by day against places")),
        _short(days, axis, on),
    )


def _short(days: Sequence[PlacesDay], axis: TimeAxis, on: date) -> SafeString:
    if max(d.p_short for d in days) < SHOWN_FROM:
        return SafeString("")
    plane = Plane(axis, 0, 100, 50, spoken("% short"))
    area = plane.band([(d.on, 0, 100 * d.p_short) for d in days], "fan danger")
    return plane.drawn(on, (area,), (), spoken("chance of too few places by day"))


def warmth(readings: Sequence[tuple[date, float]], target: float, unit: str, on: date) -> SafeString:
    """Readings as dots and a line, the target as a level line."""
    axis = TimeAxis(min(readings[0][0], on), on)
    values = [target, *(t for _, t in readings)]
    plane = Plane(axis, min(values) - 1, max(values) + 1, 90, unit)
    dots = [
        plane.dot(d, t, "seen small", f"{day_month(d)}: {number(format(t, '.1f'))} {unit}")
        for d, t in readings
    ]
    rule = plane.rule(target, spoken("set to {target:.1f}", target=target))
    return plane.drawn(
        on, (plane.line(readings, "middle"),), (rule, *dots), spoken("temperatures against the target")
    )
