"""Noting for many at once: a weighing session at `/scale`, a rack fed with exceptions at `/feeding`."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple
from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.rounds import Task, Todo
from eggtooth.jobs.day import day
from eggtooth.records import store
from eggtooth.web.asked import MOST_TAGS, Page, on_a_day
from eggtooth.web.clauses import told_apart
from eggtooth.web.clock import day_noted, may_note
from eggtooth.web.doors import keeper_of
from eggtooth.web.prey import choices, chosen
from eggtooth.web.speech import said
from eggtooth.web.told import refused
from eggtooth.web.walk import rack_of, stretch

LATEST, DUE = 20, 60


@require_safe
@on_a_day
def scale(request: HttpRequest, on: date) -> HttpResponse:
    """Tag, grams, enter, next; `tag` has been chosen already. Who is due stands below in walking order, one
    tap from its grams, and drops out as it is weighed.
    """
    found = day(on)
    due = [t for t in found.round.tasks if t.todo is Todo.WEIGH]
    weighed = [e for e in reversed(found.noted) if e.kind is Kind.WEIGHT][:LATEST]
    page = Page.asked(request, DUE).of(len(due))
    shown = due[page.first : page.first + DUE]
    tags = sorted(a.tag for a in found.colony.here(on))
    tags = tags if len(tags) <= MOST_TAGS else sorted({t.tag for t in due})[:MOST_TAGS]
    context = {"on": on, "due": shown, "weighed": weighed, "key": uuid4().hex, "tags": tags}
    context |= {"page": page, "waiting": len(due), "tag": request.GET.get("tag", "")[:40]}
    return render(request, "scale.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@on_a_day
def feeding(request: HttpRequest, on: date) -> HttpResponse:
    """Everyone due for a meal, rack by rack: all taken as eaten unless changed, noted with one button."""
    if request.method == "POST":
        try:
            store.add_entries(_meals(request, day_noted(request)))
        except ValueError as wrong:
            return refused(wrong)
        return redirect(f"{reverse('feeding')}?{_same_rack(request, on)}")
    found = day(on)
    due = [t for t in found.round.tasks if t.todo is Todo.FEED]
    noted = [e for e in reversed(found.noted) if e.kind is Kind.MEAL]
    part = stretch(request, due, urlencode({"on": on.isoformat()}))
    context = {"on": on, "racks": _racks(part.tasks), "part": part, "noted": noted[:LATEST]}
    return render(
        request,
        "feeding.html",
        context | {"noted_more": len(noted) - LATEST, "noted_in_all": len(noted), "may_note": may_note(on)},
    )


def _same_rack(request: HttpRequest, on: date) -> str:
    rack = request.POST.get("rack", "")[:100]
    return urlencode({"on": on.isoformat()} | ({"rack": rack} if rack else {}))


class Due(NamedTuple):
    """A meal due as the page draws it: the key its entry will have, the prey to choose from, its reason."""

    task: Task
    key: str
    prey: tuple[str, ...]
    why: str
    more: str


def _racks(due: Iterable[Task]) -> list[tuple[str, list[Due]]]:
    racks: dict[str, list[Due]] = {}
    for task in due:
        meal = Due(task, uuid4().hex, choices(task), *told_apart(task, said(task.why)))
        racks.setdefault(rack_of(task), []).append(meal)
    return list(racks.items())


def _meals(request: HttpRequest, on: date) -> list[Entry]:
    """What the form says of each animal: `ate-TAG` is a number taken, or empty for not offered,
    and `prey-TAG` what it was.
    """
    taken = {n.removeprefix("ate-"): str(t) for n, t in request.POST.items() if n.startswith("ate-")}
    by = keeper_of(request).name
    keys = {tag: request.POST.get(f"key-{tag}", "") for tag in taken}
    return [
        Entry(
            str(UUID(keys[tag])), on, None, tag, Kind.MEAL, _taken(tag, text), chosen(request.POST, tag), by
        )
        for tag, text in taken.items()
        if text
    ]


def _taken(tag: str, text: str) -> float:
    if not (text.isascii() and text.isdecimal() and int(text) <= 9):
        raise ValueError(f"{tag}: {text!r} is not a number of prey items from 0 to 9")
    return float(text)
