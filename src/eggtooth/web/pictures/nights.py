"""A male's nights in a row, and the stretch until he must rest."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.utils.html import format_html
from django.utils.safestring import SafeString

from eggtooth.engine.condition.nights import Night, night_of
from eggtooth.engine.entries import Entry
from eggtooth.web.pictures.axis import TimeAxis, lines, today_line
from eggtooth.web.speech import spoken

HIGH = 24


def nights(
    axis: TimeAxis,
    on: date,
    sat: Iterable[Night],
    locks: Iterable[Entry],
    rest_by: tuple[date, date, date] | None,
    eaten: date | None,
) -> SafeString:
    """A male's nights in a row: low marks in, tall marks locked, empty off; then the stretch until he must
    rest, as a bar over its spread with the middle marked."""
    inside = _row(axis, [n.on for n in sat], 12, 10)
    locked = _row(axis, {night_of(e) for e in locks}, 4, 18)
    rows = format_html(
        '<svg viewBox="0 0 {0} {1}" width="100%" height="{1}" preserveAspectRatio="none">'
        '<path class="floor" d="M0 22.5H{2}"/><path class="in" d="{3}"/><path class="lock" d="{4}"/></svg>',
        axis.days,
        HIGH,
        axis.day(on),
        inside,
        locked,
    )
    over = (_stretch(axis, on, rest_by), _last_meal(axis, eaten), today_line(axis, on, HIGH))
    return format_html(
        '<svg class="nights" height="{}" aria-hidden="true">{}{}{}{}{}</svg>',
        HIGH,
        lines(axis, HIGH),
        rows,
        *over,
    )


def _row(axis: TimeAxis, days: Iterable[date], top: int, tall: int) -> str:
    shown = sorted({axis.day(d) for d in days if axis.holds(d)})
    return "".join(f"M{d}.1 {top}h.8v{tall}h-.8z" for d in shown)


def _stretch(axis: TimeAxis, on: date, rest_by: tuple[date, date, date] | None) -> SafeString:
    if rest_by is None:
        return SafeString("")
    low, mid, high = (axis.at(max(d, on)) for d in rest_by)
    now = axis.at(on)
    return format_html(
        '<rect class="left" x="{0}%" width="{1}%" y="14" height="6"/>'
        '<rect class="doubt" x="{2}%" width="{3}%" y="14" height="6"/>'
        '<line class="middle" x1="{4}%" x2="{4}%" y1="10" y2="23"/>',
        now, round(max(0.0, low - now), 2), low, round(max(0.4, high - low), 2), mid,
    )  # fmt: skip


def _last_meal(axis: TimeAxis, eaten: date | None) -> SafeString:
    if eaten is None or not axis.holds(eaten):
        return SafeString("")
    mark = '<circle class="taken" cx="{}%" cy="5" r="3"><title>{}</title></circle>'
    return format_html(mark, axis.at(eaten), spoken("last ate {on:%-d %b}", on=eaten))
