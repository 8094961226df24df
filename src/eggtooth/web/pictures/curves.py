"""Mass and follicles over time, and things of known size beside them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import pairwise

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from eggtooth.engine.entries import Entry
from eggtooth.engine.facts import biology
from eggtooth.engine.wording import say
from eggtooth.jobs.body import Follicles, Threshold
from eggtooth.jobs.curve import Curve, Point
from eggtooth.web.days import day, day_month
from eggtooth.web.pictures.axis import TimeAxis
from eggtooth.web.pictures.plane import Plane
from eggtooth.web.speech import number, said, spoken

PX_PER_MM, MOST_MM = 2.6, 50.0
KNOWN_SIZES = ((8.0, say("pea")), (16.0, say("marble")), (44.0, say("hen's egg")))
"""Widths in mm that a hand knows: a garden pea, the usual playing marble, a hen's egg across its middle (from
memory)."""
MEANINGS = (
    (biology.PAIRING_FROM, say("pairing opens")),
    (biology.HINGE, say("grows fast, goes off food")),
    (biology.OVULATION_AT, say("ovulates near")),
)
GAP = 10
TRUSTED = 0.5


def mass(curve: Curve, thresholds: Iterable[Threshold], axis: TimeAxis, on: date) -> SafeString:
    """Weighings, the curve learned through them and the fan ahead, with the masses that mean something."""
    past = _within(curve.past, axis)
    ahead = _within(curve.ahead, axis)
    seen = [e.value or 0 for e, trust in curve.weighings if trust > TRUSTED and axis.holds(e.on)]
    plane = Plane(axis, *_grams([*past, *ahead], seen), 150, "g")
    dots = (plane.dot(e.on, e.value or 0, *_weighed(e, trust)) for e, trust in curve.weighings)
    rules = (plane.rule(g, f"{g:.0f} g {said(words)}") for g, words, _ in thresholds)
    curves = (
        plane.band([(d, a, c) for d, a, _, c in past], "fan"),
        plane.line([(d, b) for d, _, b, _ in past], "middle"),
        plane.band([(d, a, c) for d, a, _, c in ahead], "fan ahead"),
        plane.line([(d, b) for d, _, b, _ in ahead], "middle ahead"),
    )
    return plane.drawn(
        on, curves, (*rules, *dots), spoken("mass over time; the table below holds the numbers")
    )


def _within(points: Sequence[Point], axis: TimeAxis) -> list[Point]:
    """The points on an axis, and where the curve crosses its start and its end."""
    found = [p for p in points if axis.holds(p[0])]
    for a, b in pairwise(points):
        if a[0] < axis.start < b[0]:
            found.insert(0, _between(a, b, axis.start))
        if a[0] < axis.end < b[0]:
            found.append(_between(a, b, axis.end))
    return found


def _between(a: Point, b: Point, on: date) -> Point:
    share = (on - a[0]).days / (b[0] - a[0]).days
    low, mid, high = (p + share * (q - p) for p, q in zip(a[1:], b[1:], strict=True))
    return on, low, mid, high


def _grams(points: Sequence[Point], seen: Sequence[float]) -> tuple[float, float]:
    """The room a mass curve and its good weighings need, a tenth to spare, at least a tenth of the mass."""
    low, high = min([*seen, *(p[1] for p in points)]), max([*seen, *(p[3] for p in points)])
    spare = max(0.1 * (high - low), 0.05 * high)
    return max(0.0, low - spare), high + spare


def _weighed(entry: Entry, trust: float) -> tuple[str, str]:
    if trust > TRUSTED:
        return "seen", f"{day(entry.on)}: {entry.value:g} g"
    return "aside", spoken(
        "{on}: {grams:g} g, set aside: it does not follow the others", on=entry.on, grams=entry.value
    )


def follicles(found: Follicles, axis: TimeAxis, on: date) -> SafeString:
    """Diameters of the largest follicles: scans, and the fan back and ahead of them."""
    plane = Plane(axis, 0.0, MOST_MM, round(PX_PER_MM * MOST_MM), "mm")
    days, mm = found.fan.days, found.fan.mm.tolist()
    curves = (
        plane.band([(d, q[0], q[4]) for d, q in zip(days, mm, strict=True)], "fan"),
        plane.band([(d, q[1], q[3]) for d, q in zip(days, mm, strict=True)], "fan"),
        plane.line([(d, q[2]) for d, q in zip(days, mm, strict=True)], "middle"),
    )
    dots = (
        plane.dot(e.on, e.value or 0, "seen", f"{day_month(e.on)}: {number(format(e.value or 0, 'g'))} mm")
        for e in found.scans
    )
    rules = [plane.rule(f.value, f"{f.value:g} mm {said(words)}", left=True) for f, words in MEANINGS]
    return plane.drawn(
        on, curves, (*rules, *dots), spoken("largest follicles over time; the table below holds the numbers")
    )


def in_the_hand(now: tuple[float, float, float] | None) -> SafeString:
    """Circles in true proportion on the scale of the follicle picture: things a hand knows, and hers now."""
    shown: list[tuple[float, str, str]] = [(mm, name, "thing") for mm, name in KNOWN_SIZES]
    if now:
        shown.insert(2, (now[1], say("hers now"), "hers"))
    left, parts = 4.0, []
    floor = round(PX_PER_MM * MOST_MM)
    for mm, name, kind in shown:
        wide = max(PX_PER_MM * mm, 34.0)
        if kind == "hers" and now:
            parts += [_ball(left + wide / 2, floor, edge, "edge", "") for edge in (now[0], now[2])]
        parts.append(_ball(left + wide / 2, floor, mm, kind, name))
        left += wide + GAP
    return format_html(
        '<svg class="hand" width="{0}" height="{1}" viewBox="0 0 {0} {1}" role="img" aria-label="{2}">'
        "{3}</svg>",
        round(left),
        floor + 30,
        spoken(
            "in true proportion: {things}",
            things=", ".join(f"{said(name)} {mm:.0f} mm" for mm, name, _ in shown),
        ),
        format_html_join("", "{}", ((p,) for p in parts)),
    )


def _ball(x: float, floor: float, mm: float, kind: str, name: str) -> SafeString:
    r = PX_PER_MM * mm / 2
    ball = '<circle class="{}" cx="{}" cy="{}" r="{}"/>{}'
    return format_html(ball, kind, f"{x:.1f}", f"{floor - r:.1f}", f"{r:.1f}", _named(x, floor, mm, name))


def _named(x: float, floor: float, mm: float, name: str) -> SafeString:
    if not name:
        return SafeString("")
    words = '<text x="{0}" y="{1}">{2}</text><text x="{0}" y="{3}">{4} mm</text>'
    return format_html(words, f"{x:.1f}", floor + 13, said(name), floor + 26, f"{mm:.0f}")
