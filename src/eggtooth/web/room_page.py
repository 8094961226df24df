"""The room at `/room`: racks and tubs drawn as they stand, who sits in each and what is due there."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from eggtooth.engine.colony import Animal, Tub
from eggtooth.engine.rounds import Urgency
from eggtooth.jobs.day import Day, day, tubs_on
from eggtooth.web.asked import Page, on_a_day
from eggtooth.web.names import named
from eggtooth.web.speech import spoken

WHOLE = 150
"""Animals up to which the whole room stands on one page; beyond, one rack does."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One tub as the page draws it; `due` are the words of what is to be done, the first thing first."""

    tub: Tub
    who: tuple[Animal, ...]
    guests: tuple[str, ...]
    due: tuple[str, ...]
    first: bool

    @property
    def said(self) -> str:
        """The tub in one sentence, for those who cannot see the drawing."""
        inside = ", ".join(a.tag for a in self.who) or spoken("empty")
        guests = spoken(" with {guests}", guests=", ".join(self.guests)) if self.guests else ""
        return f"{self.tub}: {inside}{guests}; {', '.join(self.due) or spoken('nothing due')}"


@dataclass(frozen=True, slots=True)
class RackDrawn:
    """A rack, row by row from the top; a place nobody is recorded for is `None`."""

    name: str
    rows: tuple[tuple[Cell | None, ...], ...]

    @property
    def wide(self) -> int:
        """Places side by side."""
        return max(len(r) for r in self.rows)


@require_safe
@on_a_day
def show(request: HttpRequest, on: date) -> HttpResponse:
    """The room as it stands on a day."""
    found = day(on)
    tubs = tubs_on(found, on)
    without = [found.colony.animals[t] for t, tub in tubs.items() if tub is None]
    names, whole = sorted({tub.rack for tub in tubs.values() if tub}), len(tubs) <= WHOLE
    name = request.GET.get("rack", "") or (names[0] if names else "")
    due = Counter(tub.rack for tub in {t.tub for t in found.round.tasks if t.tag} if tub)
    page = Page.asked(request, WHOLE).of(len(without))
    context = {
        "on": on,
        "racks": racks_on(found, tubs, names if whole else [n for n in names if n == name]),
        "others": [] if whole else [(n, due[n], urlencode({"rack": n}), n == name) for n in names],
        "after": "" if whole else next((n for n in names if n > name), ""),
        "without": without[page.first : page.first + WHOLE],
        "page": page,
        "page_more": "" if whole else "&" + urlencode({"rack": name}),
    }
    return render(request, "room.html", context)


def racks_on(found: Day, tubs: Mapping[str, Tub | None], names: Collection[str]) -> list[RackDrawn]:
    """The racks named with their tubs, as far as anybody lives there."""
    racks: dict[str, dict[Tub, Cell]] = {name: {} for name in names}
    for tub, cell in _cells(found, tubs, racks).items():
        racks[tub.rack][tub] = cell
    return [_rack(name, cells) for name, cells in racks.items()]


def _rack(name: str, cells: dict[Tub, Cell]) -> RackDrawn:
    rows = sorted({t.row for t in cells})
    places = range(min(t.place for t in cells), max(t.place for t in cells) + 1)
    return RackDrawn(name, tuple(tuple(cells.get(Tub(name, r, p)) for p in places) for r in rows))


def _cells(found: Day, tubs: Mapping[str, Tub | None], racks: Collection[str]) -> dict[Tub, Cell]:
    who: defaultdict[Tub, list[Animal]] = defaultdict(list)
    for tag, tub in tubs.items():
        if tub is not None and tub.rack in racks:
            who[tub].append(found.colony.animals[tag])
    guests: defaultdict[str, list[str]] = defaultdict(list)
    for male, sitting in found.round.together.items():
        guests[sitting.female].append(male)
    due: defaultdict[Tub, list[str]] = defaultdict(list)
    first = {t.tub for t in found.round.tasks if t.urgency is Urgency.NOW}
    for task in found.round.tasks:
        if task.tub and task.tag and task.tub.rack in racks:
            due[task.tub].append(named(task.todo))
    return {
        tub: Cell(
            tub,
            tuple(inside),
            tuple(g for a in inside for g in guests[a.tag]),
            tuple(dict.fromkeys(due[tub])),
            tub in first,
        )
        for tub, inside in who.items()
    }
