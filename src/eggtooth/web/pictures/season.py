"""A female's season as one strip: smears as dark as each day is likely, solid marks for what was seen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from eggtooth.web.days import day_month
from eggtooth.web.pictures.axis import TimeAxis, labels

LANE, TICKS = 7, 9
"""Height in pixels of one milestone's lane, and of the ticks under them."""

LEVELS = (0.002, 0.004, 0.007, 0.011, 0.017, 0.026, 0.04, 0.06, 0.09, 0.14)
"""Chances per day at which a smear grows one shade darker: each about half as much again."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One milestone on a strip: the class of its tone, what a pointer is told, and its chances by day or the
    day it was seen.
    """

    tone: int
    says: str
    chances: Sequence[tuple[date, float]] = ()
    seen: date | None = None


def lanes_high(lanes: int) -> int:
    """Height of a strip with this many lanes."""
    return lanes * LANE + TICKS


def strip(axis: TimeAxis, marks: Sequence[Mark], nights: Iterable[date], locks: Iterable[date]) -> SafeString:
    """The smears, marks and ticks of one female, under each other in the order of the season."""
    high = lanes_high(len(marks))
    smears = format_html_join("", "{}", ((_smear(axis, m, i),) for i, m in enumerate(marks) if m.chances))
    solid = format_html_join("", "{}", ((_solid(axis, m, i),) for i, m in enumerate(marks) if m.seen))
    return format_html(
        '<svg class="strip" height="{0}" aria-hidden="true">'
        '<svg viewBox="0 0 {1} {0}" width="100%" height="{0}" preserveAspectRatio="none">'
        '<use href="#days"/>{2}{3}</svg>{4}</svg>',
        high,
        axis.days,
        smears,
        _ticks(axis, nights, locks, len(marks) * LANE),
        solid,
    )


def days(axis: TimeAxis, on: date, lanes: int) -> SafeString:
    """What all strips share, drawn once in days: the months and today. Each strip puts it in its place."""
    high = lanes_high(lanes)
    firsts = "".join(f"M{axis.day(first)} 0v{high}" for first, _ in axis.ticks())
    now = f"M{axis.day(on)} 0v{high}" if axis.holds(on) else ""
    return format_html(
        '<svg class="shared" aria-hidden="true"><defs><g id="days"><path class="tick" d="{}"/>'
        '<path class="nowline" d="{}"/></g></defs></svg>',
        firsts,
        now,
    )


def months(axis: TimeAxis, on: date) -> SafeString:
    """The words over the strips."""
    at = axis.at(on)
    side = " first" if at < 6 else " last" if at > 94 else ""
    word = format_html('<text class="now{}" x="{}%" y="12">{}</text>', side, at, day_month(on))
    body = (word if axis.holds(on) else "", labels(axis, 26))
    return format_html('<svg class="months" height="28" aria-hidden="true">{}{}</svg>', *body)


def _smear(axis: TimeAxis, mark: Mark, lane: int) -> SafeString:
    y = lane * LANE + LANE / 2
    paths = format_html_join("", '<path d="{}"/>', ((d,) for d in _shades(axis, mark.chances, y) if d))
    return format_html('<g class="m{}"><title>{}</title>{}</g>', mark.tone, mark.says, paths)


def _shades(axis: TimeAxis, chances: Sequence[tuple[date, float]], y: float) -> Iterator[str]:
    """One path a level, over the days at least that likely: laid on each other they darken."""
    held = [(d, p) for d, p in chances if axis.holds(d)]
    for level in LEVELS:
        runs = groupby(held, key=lambda pair: pair[1] >= level)
        spans = [list(run) for dark, run in runs if dark]
        yield "".join(f"M{axis.day(s[0][0])} {y:g}h{len(s)}" for s in spans)


def _solid(axis: TimeAxis, mark: Mark, lane: int) -> SafeString:
    assert mark.seen is not None
    if not axis.holds(mark.seen):
        return SafeString("")
    spot = '<circle class="m{}" cx="{}%" cy="{}" r="4"><title>{}</title></circle>'
    return format_html(spot, mark.tone, axis.at(mark.seen), lane * LANE + LANE / 2, mark.says)


def _ticks(axis: TimeAxis, nights: Iterable[date], locks: Iterable[date], y: int) -> SafeString:
    """Nights with a male as dashes in runs, locks as strong upright ticks."""
    at = sorted({axis.day(d) for d in nights if axis.holds(d)})
    runs = [[d for _, d in run] for _, run in groupby(enumerate(at), key=lambda pair: pair[1] - pair[0])]
    dashes = "".join(f"M{run[0]} {y + 6}h{len(run)}" for run in runs)
    ticks = "".join(f"M{d} {y + 2}v7" for d in sorted({axis.day(d) for d in locks if axis.holds(d)}))
    return format_html('<path class="in" d="{}"/><path class="lock" d="{}"/>', dashes, ticks)


def sample(tone: int) -> SafeString:
    """A smear of one tone, for the key."""
    shades = ((f"M{14 - k} 5H{14 + k}",) for k in (14, 11, 8, 5, 2))
    paths = format_html_join("", '<path d="{}"/>', shades)
    return format_html(
        '<svg class="strip sample" width="28" height="10" aria-hidden="true"><g class="m{}">{}</g></svg>',
        tone,
        paths,
    )
