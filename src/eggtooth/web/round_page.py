"""The round at `/`: the day's list in walking order, each line with its why and its taps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from urllib.parse import urlencode
from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.utils.translation import gettext, gettext_noop
from django.views.decorators.http import require_safe

from eggtooth.engine.colony import Colony
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.rounds import Task, Todo
from eggtooth.jobs import noting
from eggtooth.jobs.day import Day, day
from eggtooth.web.answers import Answer, answers_to, steps_of
from eggtooth.web.asked import on_a_day
from eggtooth.web.clauses import told_apart
from eggtooth.web.clock import may_note, today
from eggtooth.web.drawn import Keys, drawn
from eggtooth.web.prey import choices
from eggtooth.web.speech import said
from eggtooth.web.walk import Stretch, stretch

LATEST = 20
"""Entries of the day under the list; all stand in the records."""

SORTS: dict[str, tuple[str, frozenset[Todo]]] = {
    "moves": (
        gettext_noop("Moves"),
        frozenset({Todo.CHECK_FOR_LOCK, Todo.LEAVE_IN, Todo.PART, Todo.MOVE_IN, Todo.REST_MALE}),
    ),
    "meals": (gettext_noop("Meals"), frozenset({Todo.FEED, Todo.SKIP_MEAL})),
    "scale": (gettext_noop("Weigh and scan"), frozenset({Todo.WEIGH, Todo.SCAN})),
    "eggs": (
        gettext_noop("Watch and eggs"),
        frozenset({Todo.WATCH, Todo.EGGS_DUE, Todo.CHECK_EGGS, Todo.HATCH_DUE, Todo.HATCHLING}),
    ),
    "odd": (gettext_noop("Look into"), frozenset({Todo.LOOK_INTO})),
}


@dataclass(frozen=True, slots=True)
class Tap:
    """One button of a line as the page draws it."""

    answer: Answer
    key: str
    likely: str = ""
    steps: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """One line as the page draws it."""

    task: Task
    who: str
    partner: str
    taps: tuple[Tap, ...]
    behind: tuple[Entry, ...]
    known: bool
    why: str
    more: str
    prey: tuple[str, ...] = ()


@require_safe
@on_a_day
def show(request: HttpRequest, on: date) -> HttpResponse:
    """The page. `on` picks the day, `do` one sort of work, `rack` and `page` the stretch of a long walk,
    `noted` the entry just kept.
    """
    found, sort = day(on), request.GET.get("do", "")
    tasks = [t for t in found.round.tasks if sort not in SORTS or t.todo in SORTS[sort][1]]
    asked = urlencode({"on": on.isoformat()} | ({"do": sort} if sort else {}))
    part = stretch(request, tasks, asked)
    back = "&".join(
        filter(None, (f"on={on}" if request.GET.get("on") else "", f"do={sort}" if sort else "", part.query))
    )
    context = {
        "on": on,
        "today": today(),
        "may_note": may_note(on),
        "before": on - timedelta(days=1),
        "after": on + timedelta(days=1),
        "tubs": _drawn(request, found, part, on, back),
        "part": part,
        "sorts": _sorts(found.round.tasks, sort),
        "sort": sort,
        "back": back,
        "lines": len(tasks),
        "noted_now": noting.kept(request.GET.get("noted", "")),
        "noted": found.noted[: -LATEST - 1 : -1],
        "noted_more": len(found.noted) - LATEST,
        "empty": not found.colony.animals,
    }
    return render(request, "round.html", context)


def _drawn(request: HttpRequest, found: Day, part: Stretch, on: date, back: str) -> SafeString:
    """The tubs of a stretch with their lines, each page with keys of its own for its taps."""

    def context(keys: Keys) -> dict[str, object]:
        tubs = by_tub(found.colony, part.tasks, may_note(on))
        keys.update(tap.key for _, lines in tubs for line in lines for tap in line.taps)
        return {"on": on, "back": back, "tubs": tubs}

    return drawn(request, "round_tubs.html", found.round, (on, back, part.rack, part.page), context)


def _sorts(tasks: Iterable[Task], chosen: str) -> list[tuple[str, str, int, bool]]:
    counts = {name: sum(t.todo in todos for t in tasks) for name, (_, todos) in SORTS.items()}
    return [(name, SORTS[name][0], n, name == chosen) for name, n in counts.items() if n or name == chosen]


def by_tub(colony: Colony, tasks: Sequence[Task], taps: bool = True) -> list[tuple[str, list[Line]]]:
    """The lines under the names of their tubs, in walking order; with `taps` where something can be noted."""

    def place(task: Task) -> str:
        return (
            str(task.tub) if task.tub else (gettext("The room") if not task.tag else gettext("No tub noted"))
        )

    return [(tub, [_line(colony, t, taps) for t in lines]) for tub, lines in groupby(tasks, key=place)]


def _line(colony: Colony, task: Task, noted: bool) -> Line:
    taps = tuple(_tap(a, task.likely) for a in answers_to(task) if noted)
    prey = choices(task) if any(t.answer.kind is Kind.MEAL for t in taps) else ()
    who, partner, known = _named(colony, task.tag), _named(colony, task.partner), task.tag in colony.animals
    return Line(task, who, partner, taps, task.entries, known, *told_apart(task, said(task.why)), prey)


def _tap(answer: Answer, likely: float | None) -> Tap:
    if not answer.ask or likely is None:
        return Tap(answer, uuid4().hex)
    return Tap(answer, uuid4().hex, f"{likely:g}", steps_of(answer.ask, likely))


def _named(colony: Colony, tag: str) -> str:
    animal = colony.animals.get(tag)
    return f"{tag} {animal.name}" if animal and animal.name else tag
