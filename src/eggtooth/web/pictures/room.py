"""The room as its racks: each move a thread from the male's tub to the female's, each locked pair a knot."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from eggtooth.engine.colony import Tub
from eggtooth.web.speech import spoken

WIDE = 328
HIGH, ROOM = 26, 14
TITLE = 18
BROADEST = 64
READABLE = 40
"""Below this width a tub is too narrow for a tag; its title still tells it."""


@dataclass(frozen=True, slots=True)
class Thread:
    """From one tub to another: who goes, who stays, whether they are locked."""

    male: str
    female: str
    locked: bool


@dataclass(frozen=True, slots=True)
class Plan:
    """Where each tub is drawn: its left upper corner, its breadth, and the height of the whole."""

    corners: Mapping[Tub, tuple[float, float]]
    broad: float
    titles: Sequence[tuple[str, float]]
    high: float


def room(tubs: Mapping[str, Tub], threads: Sequence[Thread]) -> SafeString:
    """An SVG of the racks that threads touch, one below the other; empty when none can be drawn.

    `tubs` says where each animal sits. A thread between animals without a tub is left to the table.
    """
    drawn = [t for t in threads if t.male in tubs and t.female in tubs]
    racks = {tubs[tag].rack for t in drawn for tag in (t.male, t.female)}
    if not drawn:
        return SafeString("")
    plan = _plan(sorted({t for t in tubs.values() if t.rack in racks}))
    busy = {tubs[tag]: tag for t in drawn for tag in (t.male, t.female)}
    said = "; ".join(
        spoken(
            "{male} locked with {female}" if t.locked else "{male} to {female}", male=t.male, female=t.female
        )
        for t in drawn
    )
    return format_html(
        '<svg class="room" viewBox="0 0 {} {}" role="img" aria-label="{}">{}{}{}{}</svg>',
        WIDE,
        plan.high,
        said,
        format_html_join("", '<text class="rack" x="0" y="{}">{}</text>', ((y, r) for r, y in plan.titles)),
        format_html_join("", "{}", ((_tub(plan, tub, busy.get(tub, "")),) for tub in plan.corners)),
        format_html_join("", "{}", ((_thread(plan, tubs[t.male], tubs[t.female], t),) for t in drawn)),
        format_html_join("", "{}", ((_tag(plan, tub, tag),) for tub, tag in busy.items())),
    )


def _plan(tubs: Sequence[Tub]) -> Plan:
    """Racks below each other; a tub where nobody sits leaves its place empty."""
    across = max(t.place for t in tubs) - min(t.place for t in tubs) + 1
    broad, first = min(BROADEST, WIDE / across), min(t.place for t in tubs)
    corners: dict[Tub, tuple[float, float]] = {}
    titles: list[tuple[str, float]] = []
    top = 0.0
    for rack in dict.fromkeys(t.rack for t in tubs):
        titles.append((rack, top + TITLE - 5))
        own = [t for t in tubs if t.rack == rack]
        rows = {row: i for i, row in enumerate(sorted({t.row for t in own}))}
        for t in own:
            corners[t] = ((t.place - first) * broad, top + TITLE + rows[t.row] * HIGH)
        top += TITLE + len(rows) * HIGH + ROOM
    return Plan(corners, broad, titles, top)


def _tub(plan: Plan, tub: Tub, tag: str) -> SafeString:
    x, y = plan.corners[tub]
    return format_html(
        '<g{}><title>{}</title><rect x="{}" y="{}" width="{}" height="{}" rx="4"/></g>',
        SafeString(' class="busy"') if tag else "",
        spoken("{tag} in {tub}", tag=tag, tub=tub) if tag else str(tub),
        *_rounded(x + 1.5, y + 1.5, plan.broad - 3, HIGH - 3),
    )


def _tag(plan: Plan, tub: Tub, tag: str) -> SafeString:
    """The tag, over the threads."""
    x, y = _two(plan.corners[tub][0] + plan.broad / 2, plan.corners[tub][1] + HIGH / 2 + 4)
    return format_html('<text x="{}" y="{}">{}</text>', x, y, tag if plan.broad >= READABLE else "")


def _thread(plan: Plan, male: Tub, female: Tub, thread: Thread) -> SafeString:
    """A bent line with a ring where he leaves, and a dot where he arrives or a knot for a locked pair."""
    (x0, y0), (x1, y1) = _edge(plan, male), _edge(plan, female)
    bend = 18 if x1 >= x0 else -18
    end = (
        _knot(x1, y1)
        if thread.locked
        else format_html('<circle class="here" cx="{}" cy="{}" r="4"/>', x1, y1)
    )
    return format_html(
        '<g class="thread{}"><title>{}</title><path d="M{} {}Q{} {} {} {}"/>'
        '<circle cx="{}" cy="{}" r="3.5"/>{}</g>',
        " locked" if thread.locked else "",
        spoken(
            "{male} stays locked with {female}" if thread.locked else "{male} goes to {female}",
            male=thread.male,
            female=thread.female,
        ),
        x0, y0, *_rounded((x0 + x1) / 2 + bend, (y0 + y1) / 2), x1, y1,
        x0, y0,
        end,
    )  # fmt: skip


def _edge(plan: Plan, tub: Tub) -> tuple[float, float]:
    """Where threads of a tub begin and end: its right upper corner, clear of the tag."""
    x, y = plan.corners[tub]
    return _two(x + plan.broad - 8, y + 6)


def _knot(x: float, y: float) -> SafeString:
    return format_html(
        '<g class="knot"><circle cx="{}" cy="{}" r="4.5"/><circle cx="{}" cy="{}" r="4.5"/></g>',
        x - 2.5, y, x + 2.5, y,
    )  # fmt: skip


def _two(x: float, y: float) -> tuple[float, float]:
    return round(x, 1), round(y, 1)


def _rounded(*numbers: float) -> Iterable[float]:
    return (round(n, 1) for n in numbers)
