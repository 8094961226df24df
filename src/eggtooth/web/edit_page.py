"""An animal's record as a form: a new one at `/animals/new`, a change at `/animal/TAG/edit`."""

from __future__ import annotations

import json

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from eggtooth.engine.colony import State
from eggtooth.engine.wording import say
from eggtooth.jobs.typed import FIELDS, Changed, fields_of, save_changed
from eggtooth.records import store
from eggtooth.records.files.refusal import Refusal
from eggtooth.web.clock import today
from eggtooth.web.speech import said, spoken

HINTS = {
    "tag": say("short, on the tub; each animal its own"),
    "hatched": say("empty when not known"),
    "genes": say("as the trade writes: Pastel het Clown; empty when the look was not noted"),
    "sire": say("tag; several with | between when it is not known which"),
    "dam": say("tag"),
    "clutch": say("any name of the clutch"),
    "tub": say("rack-row-place, like A-3-2"),
}
CHOICES = {"sex": ["", "F", "M"], "state": [s.value for s in State]}


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    """A new animal."""
    return _form(request, {})


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, tag: str) -> HttpResponse:
    """A change to an animal; its tag stays, since entries speak of it."""
    animal = store.colony().animals.get(tag)
    if animal is None:
        raise Http404(spoken("{tag} is not an animal here", tag=tag))
    return _form(request, fields_of(animal), tag)


def _form(request: HttpRequest, stands: dict[str, str], tag: str = "") -> HttpResponse:
    row, problems = stands, list[str]()
    if request.method == "POST":
        row = {f: request.POST.get(f, "") for f in FIELDS} | ({"tag": tag} if tag else {})
        row["state"] = "" if row["state"] == State.HERE else row["state"]
        problems = _saved(row, _was(request.POST.get("was", "")))
        if not problems:
            return redirect("animal", tag=row["tag"].strip())
    fields = [(f, row.get(f, ""), HINTS.get(f, ""), CHOICES.get(f)) for f in FIELDS if f != "tag" or not tag]
    context = {"tag": tag, "fields": fields, "was": json.dumps(stands), "problems": problems}
    return render(request, "edit.html", context, status=400 if problems else 200)


def _saved(row: dict[str, str], was: dict[str, str]) -> list[str]:
    try:
        return [_told(r) for r in save_changed(row, was, today())]
    except (Changed, ValueError) as wrong:
        return [said(str(wrong))]


def _told(refusal: Refusal) -> str:
    words = said(refusal.text)
    return f"{refusal.column}: {words}" if refusal.column else words


def _was(text: str) -> dict[str, str]:
    """The line as it stood when the page was made; anything else is taken as never seen."""
    try:
        said = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    return {str(k): str(v) for k, v in said.items()} if isinstance(said, dict) else {}
