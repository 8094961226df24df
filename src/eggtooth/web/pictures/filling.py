"""Eggs that fill from below: as full as something is likely, or as near as a wish is to being met."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

WIDE, HIGH = 40, 52
OUTLINE = "M20 3 C31 3 37 19 37 31 C37 42 29.500 49 20 49 C10.500 49 3 42 3 31 C3 19 9 3 20 3 Z"
TOP, BOTTOM = 3.0, 49.0


@dataclass(frozen=True, slots=True)
class Filled:
    """One egg: how full (0 to 1), its mark, its tone (a class of the style sheet) and what it stands for."""

    share: float
    mark: str
    tone: int
    said: str


def eggs(filled: Sequence[Filled], name: str) -> SafeString:
    """A row of eggs as one SVG; `name` must differ for each picture of a page (it names the cuts)."""
    said = "; ".join(dict.fromkeys(e.said for e in filled))
    body = format_html_join("", "{}", ((_egg(e, i, f"{name}-{i}"),) for i, e in enumerate(filled)))
    wide = WIDE * len(filled)
    return format_html(
        '<svg class="filling" width="{}" height="{}" viewBox="0 0 {} {}" role="img" aria-label="{}">{}</svg>',
        wide, HIGH, wide, HIGH, said, body,
    )  # fmt: skip


def _egg(egg: Filled, place: int, name: str) -> SafeString:
    level = BOTTOM - (BOTTOM - TOP) * min(1.0, max(0.0, egg.share))
    return format_html(
        '<g class="tone{}" transform="translate({} 0)"><title>{}</title>'
        '<clipPath id="{}"><rect x="0" y="{}" width="40" height="52"/></clipPath>'
        '<path class="shell" d="{}"/><path class="full" d="{}" clip-path="url(#{})"/>'
        '<path class="edge" d="{}"/><text x="20" y="37">{}</text></g>',
        egg.tone, place * WIDE, egg.said, name, f"{level:.1f}", OUTLINE, OUTLINE, name, OUTLINE, egg.mark,
    )  # fmt: skip
