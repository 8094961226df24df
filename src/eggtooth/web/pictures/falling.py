"""Odds falling with each normal-looking baby: a row of eggs whose yolks shrink with the chance."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from eggtooth.web.speech import spoken

WIDE, HIGH = 40, 62
YOLK = 13.5


def falling(chances: Sequence[float], words: Sequence[str], mate: str) -> SafeString:
    """An SVG of one egg for each number of normal babies; a yolk's area is the chance of carrying then, which
    `words` write."""
    said = "; ".join(spoken("after {n} {chance}", n=n, chance=word) for n, word in enumerate(words))
    eggs = format_html_join("", "{}", ((_egg(n, p, words[n]),) for n, p in enumerate(chances)))
    width = len(chances) * WIDE
    return format_html(
        '<svg class="falling" viewBox="0 0 {} {}" width="{}" role="img" aria-label="{}">{}</svg>',
        width,
        HIGH,
        width,
        spoken(
            "chance of carrying after so many normal-looking babies with {mate}: {said}", mate=mate, said=said
        ),
        eggs,
    )


def _egg(normals: int, chance: float, word: str) -> SafeString:
    x = normals * WIDE + WIDE // 2
    return format_html(
        '<g><title>{}</title><ellipse cx="{}" cy="17" rx="19" ry="15.5"/>'
        '<circle cx="{}" cy="17" r="{}"/><text x="{}" y="45">{}</text>'
        '<text class="count" x="{}" y="59">{}</text></g>',
        spoken("after {normals} normal-looking babies: {chance}", normals=normals, chance=word),
        x,
        x,
        round(YOLK * sqrt(chance), 2),
        x,
        word,
        x,
        normals,
    )
