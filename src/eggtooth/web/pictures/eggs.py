"""Eggs in rows, each marked by a letter and a tone, so that it reads without colour too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from eggtooth.web.speech import spoken

WIDE, HIGH = 34, 30


@dataclass(frozen=True, slots=True)
class Egg:
    """One egg: its mark, its tone (a class of the style sheet) and what may hatch from it."""

    mark: str
    tone: int
    looks: str


def clutch(eggs: Sequence[Egg], across: int) -> SafeString:
    """An SVG of the eggs, `across` in a row. Its text for those who cannot see it counts the eggs by look."""
    rows = -(-len(eggs) // across)
    said = "; ".join(f"{len(list(same))} {looks}" for looks, same in groupby(eggs, key=lambda e: e.looks))
    body = format_html_join("", "{}", ((_egg(e, i % across, i // across),) for i, e in enumerate(eggs)))
    return format_html(
        '<svg class="eggs" viewBox="0 0 {} {}" role="img" aria-label="{}">{}</svg>',
        across * WIDE,
        rows * HIGH,
        spoken("of {eggs} eggs: {said}", eggs=len(eggs), said=said),
        body,
    )


def _egg(egg: Egg, column: int, row: int) -> SafeString:
    x, y = column * WIDE + WIDE // 2, row * HIGH + HIGH // 2
    return format_html(
        '<g class="tone{}"><title>{}</title><ellipse cx="{}" cy="{}" rx="15" ry="12.5"/>'
        '<text x="{}" y="{}">{}</text></g>',
        egg.tone,
        egg.looks,
        x,
        y,
        x,
        y + 5,
        egg.mark,
    )
