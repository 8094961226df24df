"""The records at `/records`: find entries, take one back, put a right one in its place."""

from __future__ import annotations

from datetime import date
from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from eggtooth.engine.entries import Entry, Kind, detail_text
from eggtooth.jobs import noting
from eggtooth.records import store
from eggtooth.web.asked import MOST_TAGS
from eggtooth.web.clock import day_noted
from eggtooth.web.doors import keeper_of
from eggtooth.web.speech import said, spoken
from eggtooth.web.told import inside, refused
from eggtooth.web.typed_number import from_celsius, in_words, value_typed

MOST = 200


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The page: what is looked for stands in the address."""
    asked = {name: request.GET.get(name, "").strip() for name in ("tag", "kind", "since", "until")}
    colony, problems = store.colony(), list[str]()
    try:
        tag = noting.known_tag(colony, "tag", asked["tag"]) if asked["tag"] else ""
        kind = Kind(asked["kind"]) if asked["kind"] else None
        found, count = store.latest(tag, kind, _day(asked["since"]), _day(asked["until"]), MOST)
    except ValueError as wrong:
        found, count, problems = [], 0, [said(str(wrong))]
    settings = store.settings()
    context = {
        "asked": asked,
        "kinds": list(Kind),
        "found": [(f, in_words(f.entry, settings)) for f in found],
        "count": count,
        "more": count - len(found),
        "problems": problems,
        "tags": sorted(colony.animals) if len(colony.animals) <= MOST_TAGS else (),
    }
    return render(request, "records.html", context, status=400 if problems else 200)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise ValueError(f"{text!r} is not a date; write it as 2026-01-31") from None


def _shown(kept: Entry) -> str:
    assert kept.value is not None
    warm = kept.kind is Kind.TEMPERATURE
    return f"{from_celsius(kept.value, store.settings()) if warm else kept.value:g}"


@require_safe
def entry(request: HttpRequest, key: str) -> HttpResponse:
    """One entry as a form, to be put right."""
    kept = noting.kept(key)
    if kept is None:
        return refused(spoken("This entry is not kept here, or was taken back already."))
    fields = {
        "tag": kept.tag,
        "kind": kept.kind.value,
        "value": "" if kept.value is None else _shown(kept),
        "detail": detail_text(kept.detail, kept.kind),
        "on": kept.on.isoformat(),
    }
    context = {
        "entry": in_words(kept, store.settings()),
        "voids": kept.id,
        "of": kept.tag,
        "fields": fields,
        "kinds": list(Kind),
        "key": uuid4().hex,
    }
    return render(request, "entry.html", context)


@require_POST
def correct(request: HttpRequest) -> HttpResponse:
    """Take one entry back and keep the right one: both or neither. The first stays in the records, voided."""
    said = request.POST
    by = keeper_of(request).name
    kind = said.get("kind", "")
    words = (kind, value_typed(kind, said.get("value", ""), store.settings()), said.get("detail", ""))
    try:
        old, key, on = UUID(said.get("id", "")), UUID(said.get("key", "")), day_noted(request)
        with store.all_or_nothing():
            if noting.kept(old.hex) is None:
                raise ValueError(spoken("This entry was taken back meanwhile; look at the records again."))
            noting.undo(old, by)
            made = noting.note_as_written(store.colony(), key, on, said.get("tag", ""), words, by)
    except ValueError as wrong:
        return refused(wrong)
    back = f"{reverse('records')}?{urlencode({'tag': made.tag})}"
    return redirect(inside(said.get("back", ""), back))
