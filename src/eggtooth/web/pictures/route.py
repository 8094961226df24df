"""A route as a tree over seasons: a pair at each knot, the eggs needed on each branch, the chance at the end.

Drawn twice from one layout, downwards for a phone and to the right for a desk; the style sheet shows one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

WIDE, HIGH = 148, 62
DOWN_SLOT, DOWN_SEASON = 160, 132
RIGHT_SLOT, RIGHT_SEASON = 96, 290
HEAD = 26
OUT = 0.8
"""Where a branch leaves a knot downwards, as a share of its width; its words stand to the left."""

LONGEST = 21
"""Letters that fit on a line of a knot."""


@dataclass(frozen=True, slots=True)
class Knot:
    """One pair: its season, its place across, its lines of text, and what leads on from it.

    `to` is the knot its young go to, None for the last; `branch` stands on the way there.
    """

    season: int
    slot: float
    lines: tuple[str, ...]
    to: int | None
    branch: tuple[str, str]
    title: str


@dataclass(frozen=True, slots=True)
class Axis:
    """One way of laying the tree out."""

    name: str
    down: bool

    def corner(self, knot: Knot) -> tuple[float, float]:
        """Upper left corner of a knot's box."""
        if self.down:
            return 1 + knot.slot * DOWN_SLOT, HEAD + (knot.season - 1) * DOWN_SEASON
        return 8 + (knot.season - 1) * RIGHT_SEASON, HEAD + 4 + knot.slot * RIGHT_SLOT

    def size(self, knots: Sequence[Knot], seasons: int) -> tuple[float, float]:
        """Width and height of the picture, the end included."""
        across = max(k.slot for k in knots) + 1
        if self.down:
            return max(2.0, across) * DOWN_SLOT - 10, HEAD + (seasons - 1) * DOWN_SEASON + HIGH + 78
        return 8 + (seasons - 1) * RIGHT_SEASON + WIDE + 260, HEAD + max(1.0, across) * RIGHT_SLOT


DOWN, RIGHT = Axis("down", True), Axis("right", False)


def tree(knots: Sequence[Knot], years: Mapping[int, int], arrival: tuple[str, str]) -> SafeString:
    """Both drawings; `years` gives the year the eggs of a season hatch, `arrival` the chance and the wish."""
    return format_html("{}{}", *(_drawn(knots, years, arrival, axis) for axis in (DOWN, RIGHT)))


def _drawn(
    knots: Sequence[Knot], years: Mapping[int, int], arrival: tuple[str, str], axis: Axis
) -> SafeString:
    seasons = max(k.season for k in knots)
    width, height = axis.size(knots, seasons)
    return format_html(
        '<svg class="route {}" viewBox="0 0 {} {}" width="{}" role="img" aria-label="{}">{}{}{}{}</svg>',
        axis.name,
        round(width),
        round(height),
        round(width),
        "; ".join(k.title for k in knots) + f"; {arrival[0]} {arrival[1]}",
        _seasons(years, seasons, axis, width, height),
        format_html_join("", "{}", ((_branch(k, knots, axis),) for k in knots)),
        format_html_join("", "{}", ((_knot(k, axis),) for k in knots)),
        _end(next(k for k in knots if k.to is None), arrival, axis),
    )


def _seasons(years: Mapping[int, int], seasons: int, axis: Axis, width: float, height: float) -> SafeString:
    rows: list[tuple[float, float, float, float, float, float, str, str]] = []
    for season in range(1, seasons + 1):
        said = f"season {season}, hatching {years[season]}"
        if axis.down:
            y = HEAD + (season - 1) * DOWN_SEASON - 8
            rows.append((0, y, width, y, width - 6, y - 4, "ends", said))
        else:
            x = 2 + (season - 1) * RIGHT_SEASON
            rows.append((x, 0, x, height, x + 6, 13, "", said))
    return format_html_join(
        "",
        '<path class="season" d="M{0} {1}L{2} {3}"/><text class="when {6}" x="{4}" y="{5}">{7}</text>',
        rows,
    )


def _branch(knot: Knot, knots: Sequence[Knot], axis: Axis) -> SafeString:
    """From a knot to the next, with what is held back and the eggs it takes."""
    if knot.to is None:
        return mark_safe("")
    (x, y), (tx, ty) = axis.corner(knot), axis.corner(knots[knot.to])
    first, second = knot.branch
    if axis.down:
        out, tx = x + OUT * WIDE, tx + WIDE / 2
        path = f"M{out:g} {y + HIGH}v36C{out:g} {y + HIGH + 60} {tx:g} {ty - 30} {tx:g} {ty}"
        place = x + 2, y + HIGH + 16, y + HIGH + 30
    else:
        x, y, ty = x + WIDE, y + HIGH / 2, ty + HIGH / 2
        path = f"M{x} {y}h100C{x + 120} {y} {tx - 30} {ty} {tx} {ty}"
        place = x + 6, y - 5, y + 15
    return format_html(
        '<path class="branch" d="{}"/><text class="note" x="{}" y="{}">{}</text>'
        '<text class="note soft" x="{}" y="{}">{}</text>',
        path, place[0], place[1], first, place[0], place[2], second,
    )  # fmt: skip


def _knot(knot: Knot, axis: Axis) -> SafeString:
    x, y = axis.corner(knot)
    lines = format_html_join(
        "",
        '<text x="{}" y="{}" class="{}">{}</text>',
        (
            (x + 8, y + 18 + 17 * i, "soft" if i == len(knot.lines) - 1 else "who", _short(line))
            for i, line in enumerate(knot.lines)
        ),
    )
    return format_html(
        '<g><title>{}</title><rect x="{}" y="{}" width="{}" height="{}" rx="8"/>{}</g>',
        knot.title, x, y, WIDE, HIGH, lines,
    )  # fmt: skip


def _end(knot: Knot, arrival: tuple[str, str], axis: Axis) -> SafeString:
    """The chance of arriving, after the last knot."""
    x, y = axis.corner(knot)
    first, second = knot.branch
    if axis.down:
        out = x + OUT * WIDE
        path, at = f"M{out:g} {y + HIGH}v38", (out, y + HIGH + 62)
        note = x + 2, y + HIGH + 16, y + HIGH + 30
    else:
        middle = y + HIGH / 2
        path, at = f"M{x + WIDE} {middle}H{x + WIDE + 150}", (x + WIDE + 158, middle + 8)
        note = x + WIDE + 6, middle - 5, middle + 15
    return format_html(
        '<path class="branch" d="{}"/><text class="note" x="{}" y="{}">{}</text>'
        '<text class="note soft" x="{}" y="{}">{}</text><text class="arrival {}" x="{}" y="{}">{}</text>',
        path, note[0], note[1], first, note[0], note[2], second, "under" if axis.down else "", at[0], at[1],
        arrival[0],
    )  # fmt: skip


def _short(text: str) -> str:
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"
