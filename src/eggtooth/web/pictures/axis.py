"""Time along a picture: where a day lies in percent of the width, and the months or years under it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from eggtooth.web.days import month_of

FEWEST_YEARS, MOST_LABELS = 1.7, 13
LAST_LABEL_AT = 94.0
"""A label further right would be cut off."""


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """Days from `start` to `end`. Positions are in percent, so that a picture fits any width undistorted."""

    start: date
    end: date

    @property
    def days(self) -> int:
        """Length in days, at least one."""
        return max(1, (self.end - self.start).days)

    def day(self, on: date) -> int:
        """Days from the start, kept within the axis."""
        return min(self.days, max(0, (on - self.start).days))

    def at(self, on: date) -> float:
        """Percent of the width, kept within the axis."""
        return round(100 * self.day(on) / self.days, 2)

    def holds(self, on: date) -> bool:
        """Whether a day lies on the axis."""
        return self.start <= on <= self.end

    def ticks(self) -> Iterator[tuple[date, str]]:
        """Firsts of months, or of years for a long time, with what to write there."""
        if self.days <= FEWEST_YEARS * 365:
            step = 1 + self.days // (31 * MOST_LABELS)
            for n, first in enumerate(_months(self.start, self.end)):
                if n % step == 0:
                    yield first, month_of(first)
        else:
            years = range(self.start.year + 1, self.end.year + 1)
            for year in years[:: 1 + len(years) // MOST_LABELS]:
                yield date(year, 1, 1), str(year)


def _months(start: date, end: date) -> Iterator[date]:
    first = (start.replace(day=1) + timedelta(days=32)).replace(day=1) if start.day > 1 else start
    while first <= end:
        yield first
        first = (first + timedelta(days=32)).replace(day=1)


def lines(axis: TimeAxis, high: int) -> SafeString:
    """Faint upright lines at the ticks, `high` pixels tall."""
    return format_html_join(
        "",
        '<line class="tick" x1="{}%" x2="{}%" y2="{}"/>',
        ((axis.at(on), axis.at(on), high) for on, _ in axis.ticks()),
    )


def labels(axis: TimeAxis, y: int) -> SafeString:
    """The words of the ticks, to the right of their lines, their feet at `y`."""
    shown = ((axis.at(on), y, text) for on, text in axis.ticks() if axis.at(on) < LAST_LABEL_AT)
    return format_html_join("", '<text class="when" x="{}%" dx="2" y="{}">{}</text>', shown)


def today_line(axis: TimeAxis, on: date, high: int) -> SafeString:
    """The day itself, one strong line through the whole."""
    if not axis.holds(on):
        return SafeString("")
    return format_html('<line class="nowline" x1="{0}%" x2="{0}%" y2="{1}"/>', axis.at(on), high)
