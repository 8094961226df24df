"""Inbreeding by year of hatch: a dot for the mean, a bar for the spread, a ring for one animal."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from eggtooth.engine.pedigree.years import HatchYear

WIDE, HIGH, TOP, LEFT = 36, 96, 8, 40
FEET = 34


def years(rows: Sequence[HatchYear], year: int | None, own: float, words: Sequence[str]) -> SafeString:
    """An SVG of the years; `own` is the coefficient of an animal of `year`, `words` say each row."""
    most = max([own, *(r.mean + (r.spread or 0) for r in rows)]) or 1.0
    width = LEFT + len(rows) * WIDE
    columns = format_html_join(
        "",
        "{}",
        ((_column(i, r, words[i], most, own if r.year == year else None),) for i, r in enumerate(rows)),
    )
    return format_html(
        '<svg class="years" viewBox="0 0 {} {}" width="{}" role="img" aria-label="{}">'
        '<path d="M{} {}H{}"/><text x="{}" y="{}">{}</text><text x="{}" y="{}">0</text>{}</svg>',
        width, TOP + HIGH + FEET, width, "inbreeding by year of hatch: " + "; ".join(words),
        LEFT, TOP + HIGH, width,
        LEFT - 6, TOP + 10, f"{most:.0%}".replace("%", "\N{NO-BREAK SPACE}%"),
        LEFT - 6, TOP + HIGH,
        columns,
    )  # fmt: skip


def _column(i: int, row: HatchYear, word: str, most: float, own: float | None) -> SafeString:
    x = LEFT + i * WIDE + WIDE // 2
    spread = row.spread or 0.0
    ring = "" if own is None else format_html('<circle class="own" cx="{}" cy="{}" r="7"/>', x, _y(own, most))
    return format_html(
        '<g><title>{}</title><path d="M{} {}V{}"/><circle cx="{}" cy="{}" r="3.5"/>{}'
        '<text class="year" x="{}" y="{}">{}</text><text class="count" x="{}" y="{}">{}</text></g>',
        word,
        x, _y(max(row.mean - spread, 0), most), _y(row.mean + spread, most),
        x, _y(row.mean, most), ring,
        x, TOP + HIGH + 16, row.year,
        x, TOP + HIGH + 30, row.animals,
    )  # fmt: skip


def _y(f: float, most: float) -> float:
    return round(TOP + HIGH * (1 - f / most), 1)
