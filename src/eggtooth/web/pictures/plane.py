"""Curves over time: fans and lines on a plane whose width is any, whose height is in pixels."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor, log10

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from eggtooth.web.pictures.axis import TimeAxis, labels, lines, today_line

FOOT = 16
"""Pixels under the plane for the words of the time."""

MOST_STEPS = 5


@dataclass(frozen=True, slots=True)
class Plane:
    """Values from `low` to `high` upwards over `tall` pixels, days along the axis."""

    axis: TimeAxis
    low: float
    high: float
    tall: int
    unit: str

    def y(self, value: float) -> float:
        """Pixels from the top, kept within the plane."""
        share = (value - self.low) / (self.high - self.low)
        return round(self.tall * (1 - min(1.0, max(0.0, share))), 1)

    def steps(self) -> Iterator[float]:
        """Round values to write beside the plane."""
        step = _round_step((self.high - self.low) / MOST_STEPS)
        for n in range(ceil(self.low / step), floor(self.high / step) + 1):
            yield n * step

    def band(self, points: Sequence[tuple[date, float, float]], kind: str) -> SafeString:
        """The room between two curves."""
        there = " ".join(f"{self.axis.day(d)},{self.y(high):g}" for d, _, high in points)
        back = " ".join(f"{self.axis.day(d)},{self.y(low):g}" for d, low, _ in reversed(points))
        return format_html('<path class="{}" d="M{} {}Z"/>', kind, there, back) if points else SafeString("")

    def line(self, points: Sequence[tuple[date, float]], kind: str) -> SafeString:
        """A curve."""
        d = " ".join(f"{self.axis.day(d)},{self.y(v):g}" for d, v in points)
        return format_html('<path class="{}" d="M{}"/>', kind, d) if points else SafeString("")

    def dot(self, on: date, value: float, kind: str, says: str) -> SafeString:
        """Something seen."""
        if not self.axis.holds(on):
            return SafeString("")
        spot = '<circle class="{}" cx="{}%" cy="{}" r="3"><title>{}</title></circle>'
        return format_html(spot, kind, self.axis.at(on), self.y(value), says)

    def rule(self, value: float, words: str, left: bool = False) -> SafeString:
        """A faint level line, its words at the right or beside the scale; nothing when it lies outside."""
        if not self.low < value < self.high:
            return SafeString("")
        y = self.y(value)
        return format_html(
            '<line class="rule" x2="100%" y1="{0}" y2="{0}"/><text class="{1}" x="{2}" y="{3}">{4}</text>',
            y,
            "ruled" if not left else "beside",
            "48" if left else "100%",
            y - 3,
            words,
        )

    def drawn(
        self, on: date, curves: Iterable[SafeString], over: Iterable[SafeString], says: str
    ) -> SafeString:
        """The whole picture. `curves` stretch with the width, `over` keeps its shape."""
        return format_html(
            '<svg class="plane" height="{0}" role="img" aria-label="{1}">{2}'
            '<svg viewBox="0 0 {3} {4}" width="100%" height="{4}" preserveAspectRatio="none">{5}</svg>'
            "{6}{7}{8}{9}</svg>",
            self.tall + FOOT,
            says,
            lines(self.axis, self.tall),
            self.axis.days,
            self.tall,
            _all(curves),
            self._scale(),
            today_line(self.axis, on, self.tall),
            _all(over),
            labels(self.axis, self.tall + FOOT - 3),
        )

    def _scale(self) -> SafeString:
        marks = [(self.y(v), max(10.0, self.y(v) - 2), f"{v:g}") for v in self.steps()]
        if marks:
            marks[-1] = (*marks[-1][:2], f"{marks[-1][2]} {self.unit}")
        line = '<line class="tick" x2="100%" y1="{0}" y2="{0}"/><text class="scale" x="1" y="{1}">{2}</text>'
        return format_html_join("", line, marks)


def _all(parts: Iterable[SafeString]) -> SafeString:
    return format_html_join("", "{}", ((p,) for p in parts))


def _round_step(least: float) -> float:
    """The smallest of 1, 2, 5, 10, ... that is not below."""
    size = 10.0 ** floor(log10(least)) if least > 0 else 1.0
    return next(size * k for k in (1, 2, 5, 10) if size * k >= least * 0.999)
