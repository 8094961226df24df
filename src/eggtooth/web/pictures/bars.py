"""Spans of dates and of numbers as bars with their spread."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.utils.html import format_html, format_html_join
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


COLUMN, FOOT, HEAD = 46, 14, 14
MOST_WORDS = 8


def counts(numbers: Sequence[tuple[int, int, int]], names: Sequence[str]) -> SafeString:
    """Numbers by week as columns: full to the middle, pale on to what is enough in 95 of 100 cases, with the
    two written over them where there is room.
    """
    most = max(1, *(high for _, _, high in numbers))
    wide = 100 / len(numbers)
    parts = (_column(i * wide, wide, n, most) for i, n in enumerate(numbers))
    every = -(-len(names) // MOST_WORDS)
    shown = ((round((i + 0.5) * wide, 2), n) for i, n in enumerate(names) if i % every == 0)
    feet = format_html_join(
        "", '<text class="mid" x="{}%" y="{}">{}</text>', ((x, HEAD + COLUMN + 12, n) for x, n in shown)
    )
    return format_html(
        '<svg class="counts" height="{}" aria-hidden="true">{}{}</svg>',
        HEAD + COLUMN + FOOT,
        format_html_join("", "{}", ((p,) for p in parts)),
        feet,
    )


def _column(left: float, wide: float, number: tuple[int, int, int], most: int) -> SafeString:
    _, mid, high = number
    words = f"{mid} ({high})" if wide > 100 / (MOST_WORDS + 1) else ""
    top = HEAD + COLUMN * (1 - high / most)
    middle = HEAD + COLUMN * (1 - mid / most)
    rect = '<rect class="{}" x="{}%" width="{}%" y="{}" height="{}"/>'
    x, w = round(left + 0.15 * wide, 2), round(0.7 * wide, 2)
    pale = format_html(rect, "doubt", x, w, round(top, 1), round(middle - top, 1))
    full = format_html(rect, "left", x, w, round(middle, 1), round(HEAD + COLUMN - middle, 1))
    over = '{}{}<text class="mid" x="{}%" y="{}">{}</text>'
    return format_html(over, pale, full, round(left + wide / 2, 2), round(top - 3, 1), words)
