"""The room at `/room`: racks and tubs drawn as they stand, who sits in each and what is due there."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.views.decorators.http import require_safe

from eggtooth.engine.colony import Animal, Tub
from eggtooth.engine.rounds import Urgency
from eggtooth.jobs.day import Day, day
from eggtooth.web.asked import Page
from eggtooth.web.clock import day_asked

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
        inside = ", ".join(a.tag for a in self.who) or "empty"
        guests = f" with {', '.join(self.guests)}" if self.guests else ""
        return f"{self.tub}: {inside}{guests}; {', '.join(self.due) or 'nothing due'}"


@dataclass(frozen=True, slots=True)
class RackDrawn:
    """A rack, row by row from the top; a place nobody is recorded for is `None`."""

    name: str
    rows: tuple[tuple[Cell | None, ...], ...]

    @property
    def wide(self) -> int:
        """Places side by side."""
        return max(len(r) for r in self.rows)

    @property
    def due(self) -> int:
        """Tubs in which something is due."""
        return sum(bool(cell and cell.due) for row in self.rows for cell in row)


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The room as it stands on a day."""
    try:
        on = day_asked(request)
    except ValueError as wrong:
        return HttpResponseBadRequest(str(wrong))
    found = day(on)
    tubs = {a.tag: found.colony.tub_of(a.tag, on) for a in found.colony.here(on)}
    without = [found.colony.animals[t] for t, tub in tubs.items() if tub is None]
    racks, whole = racks_on(found, on), len(tubs) <= WHOLE
    name = request.GET.get("rack", "") or (racks[0].name if racks else "")
    page = Page.asked(request, WHOLE).of(len(without))
    context = {
        "on": on,
        "racks": racks if whole else [r for r in racks if r.name == name],
        "others": [] if whole else [(r, urlencode({"rack": r.name}), r.name == name) for r in racks],
        "after": next((r.name for r in racks if r.name > name), "") if not whole else "",
        "without": without[page.first : page.first + WHOLE],
        "page": page,
        "page_more": "" if whole else "&" + urlencode({"rack": name}),
    }
    return render(request, "room.html", context)


def racks_on(found: Day, on: date) -> list[RackDrawn]:
    """Every rack with its tubs, as far as anybody lives there."""
    cells = _cells(found, on)
    racks: defaultdict[str, dict[Tub, Cell]] = defaultdict(dict)
    for tub, cell in cells.items():
        racks[tub.rack][tub] = cell
    return [_rack(name, racks[name]) for name in sorted(racks)]


def _rack(name: str, cells: dict[Tub, Cell]) -> RackDrawn:
    rows = sorted({t.row for t in cells})
    places = range(min(t.place for t in cells), max(t.place for t in cells) + 1)
    return RackDrawn(name, tuple(tuple(cells.get(Tub(name, r, p)) for p in places) for r in rows))


def _cells(found: Day, on: date) -> dict[Tub, Cell]:
    who: defaultdict[Tub, list[Animal]] = defaultdict(list)
    for animal in found.colony.here(on):
        tub = found.colony.tub_of(animal.tag, on)
        if tub is not None:
            who[tub].append(animal)
    guests: defaultdict[str, list[str]] = defaultdict(list)
    for male, sitting in found.round.together.items():
        guests[sitting.female].append(male)
    due: defaultdict[Tub, list[str]] = defaultdict(list)
    first = {t.tub for t in found.round.tasks if t.urgency is Urgency.NOW}
    for task in found.round.tasks:
        if task.tub and task.tag:
            due[task.tub].append(task.todo.value)
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
