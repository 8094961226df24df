"""A family as a tree: grandparents, parents, the animal; each box filled by its chance of carrying."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from eggtooth.web.speech import spoken

WIDE, HIGH, GAP, STEP = 96, 34, 20, 44


@dataclass(frozen=True, slots=True)
class Relative:
    """One box: its place (generation back, row), its tag, the chance of carrying and the page it leads to."""

    back: int
    row: float
    tag: str
    chance: float | None
    link: str


def tree(relatives: list[Relative], gene: str) -> SafeString:
    """An SVG of the animal on the right and its ancestors to the left; every box is a link with a title."""
    lines = format_html_join("", "{}", ((_line(r),) for r in relatives if r.back))
    boxes = format_html_join("", "{}", ((_box(r, gene),) for r in relatives))
    said = "; ".join(f"{r.tag} {_percent(r.chance)}" for r in relatives)
    rows, oldest = [r.row for r in relatives], max(r.back for r in relatives)
    left = _corner(oldest, 0)[0] - 1
    return format_html(
        '<svg class="family" width="{}" viewBox="{} {} {} {}" role="group" aria-label="{}">{}{}</svg>',
        round(1.4 * (3 * WIDE + 2 * GAP + 2 - left)),
        left,
        min(rows) * STEP,
        3 * WIDE + 2 * GAP + 2 - left,
        (max(rows) - min(rows) + 1) * STEP,
        spoken("chance of carrying {gene}: {said}", gene=gene, said=said),
        lines,
        boxes,
    )


def _corner(back: int, row: float) -> tuple[float, float]:
    return 1 + (2 - back) * (WIDE + GAP), row * STEP + (STEP - HIGH) / 2


def _line(relative: Relative) -> SafeString:
    """From a parent's box to its child's, which stands half-way between the two parents."""
    x, y = _corner(relative.back, relative.row)
    child = {1: 1.5, 2: 0.5 if relative.row < 2 else 2.5}[relative.back]
    cx, cy = _corner(relative.back - 1, child)
    middle = x + WIDE + GAP / 2
    return format_html('<path d="M{} {}H{}V{}H{}"/>', x + WIDE, y + HIGH / 2, middle, cy + HIGH / 2, cx)


def _box(relative: Relative, gene: str) -> SafeString:
    x, y = _corner(relative.back, relative.row)
    filled = WIDE * (relative.chance or 0.0)
    return format_html(
        '<a href="{}"><title>{}</title><rect class="all" x="{}" y="{}" width="{}" height="{}" rx="4"/>'
        '<rect class="share" x="{}" y="{}" width="{}" height="{}" rx="4"/>'
        '<text x="{}" y="{}">{}</text><text class="odds" x="{}" y="{}">{}</text></a>',
        relative.link,
        spoken("{tag}: {p} carries {gene}", tag=relative.tag, p=_percent(relative.chance), gene=gene),
        x, y, WIDE, HIGH,
        x, y, round(filled, 1), HIGH,
        x + 6, y + 22, relative.tag,
        x + WIDE - 6, y + 22, _percent(relative.chance),
    )  # fmt: skip


def _percent(chance: float | None) -> str:
    if chance is None:
        return "?"
    return (
        "<1 %"
        if 0 < chance < 0.005
        else ">99 %"
        if 0.995 < chance < 1
        else f"{chance:.0%}".replace("%", " %")
    )
