"""To an animal's page by its tag, its name or a part of either, or to a tub's page: `/find?tag=F12`."""

from __future__ import annotations

from datetime import date
from urllib.parse import unquote

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from eggtooth.engine.colony import Animal, Colony, Tub
from eggtooth.jobs.noting import known_tag
from eggtooth.records import store
from eggtooth.records.files.refusal import Wrong
from eggtooth.web.clock import today
from eggtooth.web.speech import said

MOST = 30


@require_safe
def find(request: HttpRequest) -> HttpResponse:
    """Small letters and missing dashes are understood, as on the scale; one that fits is gone to at once."""
    asked = request.GET.get("tag", "").strip()[:400]
    if not asked:
        return render(request, "find.html")
    colony = store.colony()
    try:
        return redirect("animal", known_tag(colony, "tag", asked))
    except Wrong as wrong:
        unknown = wrong
    if tub := _tub(colony, asked, today()):
        return redirect("tub", str(tub))
    like = _like(colony, asked)
    if len(like) == 1:
        return redirect("animal", like[0].tag)
    context = {"tag": asked, "like": like[:MOST], "more": len(like) - MOST}
    if not like:
        context |= {"problem": said(str(unknown)), "nearest": unknown.nearest}
    return render(request, "find.html", context, status=200 if like else 404)


def _tub(colony: Colony, asked: str, on: date) -> Tub | None:
    """A tub in which somebody lives, by its name or by what a scanner reads from its label."""
    _, sign, name = asked.partition("/tub/")
    wanted = (unquote(name) if sign else asked).casefold()
    tubs = (colony.tub_of(a.tag, on) for a in colony.here(on))
    return next((tub for tub in tubs if tub and str(tub).casefold() == wanted), None)


def _like(colony: Colony, asked: str) -> list[Animal]:
    """The animals of that name, else those whose name or tag holds what was typed."""
    part, animals = asked.casefold(), colony.animals.values()
    called = [a for a in animals if a.name.casefold() == part]
    return called or [a for a in animals if part in a.tag.casefold() or part in a.name.casefold()]
