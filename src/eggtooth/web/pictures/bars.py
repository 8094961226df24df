"""Spans of dates and of numbers as bars with their spread."""

from __future__ import annotations

from datetime import date

from django.utils.html import format_html
from django.utils.safestring import SafeString

from eggtooth.web.pictures.axis import TimeAxis, lines

HIGH = 18


def ready(axis: TimeAxis, now: float, dates: tuple[date | None, date | None, date | None]) -> SafeString:
    """From when an animal is fit: pale over the spread of the date, full from the 95 % date on, a stroke at
    the middle. A column at the left is filled by the chance now.
    """
    low, mid, high = dates
    body = SafeString("")
    if low is not None:
        a, c = axis.at(low), axis.at(high) if high else 100.0
        body = format_html(
            '<rect class="doubt" x="{0}%" width="{1}%" y="6" height="8"/>'
            '<rect class="left" x="{2}%" width="{3}%" y="6" height="8"/>{4}',
            a, round(c - a, 2), c, round(100 - c, 2), _stroke(axis, mid),
        )  # fmt: skip
    return format_html(
        '<svg class="nights" height="{0}" aria-hidden="true">{1}{2}'
        '<rect class="chance" width="6" y="{3}" height="{4}"/></svg>',
        HIGH,
        lines(axis, HIGH),
        body,
        round(HIGH * (1 - now), 1),
        round(HIGH * now, 1),
    )


def _stroke(axis: TimeAxis, mid: date | None) -> SafeString:
    if mid is None or not axis.holds(mid) or mid == axis.start:
        return SafeString("")
    return format_html('<line class="middle" x1="{0}%" x2="{0}%" y1="3" y2="17"/>', axis.at(mid))
