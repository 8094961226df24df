"""How forecasts did: said chances against what happened, and errors by weeks ahead; of fixed size."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from eggtooth.web.speech import spoken

SIDE, LEFT, FOOT, HEAD = 240, 34, 30, 16
WIDE, HIGH = 300, 160
Curve = tuple[str, int, Sequence[tuple[float, float]]]
"""What it is of, its tone, and its points."""


def calibration(curves: Sequence[Curve]) -> SafeString:
    """Said chance to the right, share that had come upwards; honest forecasts lie on the slanting line."""
    grid = format_html_join("", "{}", ((_at(p),) for p in (0.05, 0.25, 0.5, 0.75, 0.95)))
    drawn = format_html_join("", "{}", ((_curve(c, SIDE, SIDE, 1.0, 1.0),) for c in curves))
    slant = format_html('<path class="honest" d="M{} {}L{} 0"/>', LEFT, SIDE, LEFT + SIDE)
    words = format_html(
        '<text class="mid" x="{}" y="{}">said, of 100</text><text x="2" y="-4">came, of 100</text>',
        LEFT + SIDE / 2,
        SIDE + 27,
    )
    says = spoken("said chance against the share that had come by then")
    return _sheet(LEFT + SIDE + 6, SIDE + FOOT, says, (grid, slant, drawn, words))


def _sheet(wide: int, high: int, says: str, parts: Iterable[SafeString]) -> SafeString:
    return format_html(
        '<svg class="told" width="{0}" height="{1}" viewBox="0 -{2} {0} {1}" role="img" aria-label="{3}">'
        "{4}</svg>",
        wide,
        high + HEAD,
        HEAD,
        says,
        format_html_join("", "{}", ((p,) for p in parts)),
    )


def _at(p: float) -> SafeString:
    x, y = LEFT + p * SIDE, (1 - p) * SIDE
    return format_html(
        '<path class="tick" d="M{0} {1}H{2}M{3} 0V{4}"/><text class="mid" x="{3}" y="{5}">{6}</text>'
        '<text class="end" x="{7}" y="{8}">{6}</text>',
        LEFT, y, LEFT + SIDE, x, SIDE, SIDE + 13, f"{100 * p:.0f}", LEFT - 4, y + 4,
    )  # fmt: skip


def sample(tone: int) -> SafeString:
    """A stroke of one tone, for the key."""
    return format_html(
        '<svg class="stroke" width="34" height="10" aria-hidden="true"><g class="m{0}"><path d="M0 5H34"/>'
        '<circle class="m{0}" cx="17" cy="5" r="3"/></g></svg>',
        tone,
    )


def errors(curves: Sequence[Curve]) -> SafeString:
    """Weeks ahead to the right, mean error in days upwards."""
    points = [p for _, _, told in curves for p in told]
    weeks = max([4.0, *(x for x, _ in points)])
    days = max([7.0, *(y for _, y in points)])
    drawn = format_html_join("", "{}", ((_curve(c, WIDE, HIGH, weeks, days),) for c in curves))
    marks = format_html_join("", "{}", ((_week(w, weeks),) for w in range(0, int(weeks) + 1, 4)))
    step = 7 * max(1, round(days / 28))
    levels = format_html_join("", "{}", ((_days(d, days),) for d in range(0, int(days) + 1, step)))
    words = format_html('<text class="mid" x="{}" y="{}">weeks ahead</text>', LEFT + WIDE / 2, HIGH + 27)
    says = spoken("mean error in days by weeks ahead")
    return _sheet(LEFT + WIDE - 6, HIGH + FOOT, says, (levels, marks, drawn, words))


def _week(week: int, most: float) -> SafeString:
    return format_html(
        '<text class="mid" x="{}" y="{}">{}</text>',
        round(LEFT + week / most * (WIDE - 12), 1),
        HIGH + 13,
        week,
    )


def _days(days: int, most: float) -> SafeString:
    y = round(HIGH * (1 - days / most), 1)
    return format_html(
        '<path class="tick" d="M{0} {1}H{2}"/><text class="end" x="{3}" y="{4}">{5} d</text>',
        LEFT, y, LEFT + WIDE - 8, LEFT - 4, max(9, y + 4), days,
    )  # fmt: skip


def _curve(curve: Curve, wide: float, high: float, most_x: float, most_y: float) -> SafeString:
    name, tone, points = curve
    spare = 0 if most_x == 1.0 else 12
    at = [(LEFT + x / most_x * (wide - spare), high * (1 - y / most_y)) for x, y in points]
    d = " ".join(f"{x:.1f},{y:.1f}" for x, y in at)
    dots = format_html_join(
        "", '<circle class="m{}" cx="{}" cy="{}" r="3"/>', ((tone, f"{x:.1f}", f"{y:.1f}") for x, y in at)
    )
    return format_html('<g class="m{}"><title>{}</title><path d="M{}"/>{}</g>', tone, name, d, dots)
