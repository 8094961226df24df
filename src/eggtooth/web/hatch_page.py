"""Hatched clutches at `/hatchlings`, and the quick entry of a whole clutch at `/hatchlings/DAM/DATE`."""

from __future__ import annotations

from datetime import date
from uuid import UUID, uuid4

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from eggtooth.engine.colony import Colony
from eggtooth.engine.entries import Entry, Kind
from eggtooth.jobs import answered
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.hatching import HatchedClutch, free_tags, hatched_clutches, looks_expected
from eggtooth.jobs.typed import save_together
from eggtooth.records import store
from eggtooth.records.files.details import value_of
from eggtooth.web.asked import Page
from eggtooth.web.clock import today
from eggtooth.web.doors import keeper_of
from eggtooth.web.speech import said, spoken
from eggtooth.web.typed_number import with_point

MOST, PER_PAGE = 25, 100


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The clutches that hatched in the last year, and who of them has a tag."""
    found = answered.hatched(from_store(), today())
    page = Page.asked(request, PER_PAGE).of(len(found))
    shown = found[page.first : page.first + PER_PAGE]
    return render(request, "hatched.html", {"clutches": shown, "page": page, "on": today()})


@require_http_methods(["GET", "HEAD", "POST"])
def enter(request: HttpRequest, dam: str, day: str) -> HttpResponse:
    """One line a hatchling: tag, look, sex, weight. All are kept together or none."""
    colony = store.colony()
    clutch = _clutch(colony, dam, day)
    rows, problems = _empty(colony, clutch), list[str]()
    if request.method == "POST":
        rows = _typed(request)
        problems = _saved(rows, clutch, keeper_of(request).name)
        if not problems:
            return redirect("hatch", dam=dam, day=day)
    looks = looks_expected(colony, clutch, today()) if clutch.sires else []
    context = {"clutch": clutch, "rows": rows, "problems": problems, "looks": looks}
    return render(request, "hatch.html", context, status=400 if problems else 200)


def _clutch(colony: Colony, dam: str, day: str) -> HatchedClutch:
    for clutch in hatched_clutches(colony, today(), store.settings()):
        if clutch.dam == dam and clutch.hatched.on.isoformat() == day:
            return clutch
    raise Http404(spoken("no clutch of {dam} hatched on {day}", dam=dam, day=str(day)))


def _empty(colony: Colony, clutch: HatchedClutch) -> list[dict[str, str]]:
    tags = free_tags(colony, clutch.hatched.on, min(MOST, max(clutch.missing, 1)))
    return [{"tag": t, "genes": "", "sex": "", "grams": "", "key": uuid4().hex} for t in tags]


def _typed(request: HttpRequest) -> list[dict[str, str]]:
    columns = {f: request.POST.getlist(f)[:MOST] for f in ("tag", "genes", "sex", "grams", "key")}
    rows = [dict(zip(columns, line, strict=True)) for line in zip(*columns.values(), strict=False)]
    return [r for r in rows if r["tag"].strip()]


def _saved(rows: list[dict[str, str]], clutch: HatchedClutch, by: str) -> list[str]:
    """What is wrong with the lines; nothing is kept then."""
    born = clutch.hatched.on
    same = {
        "dam": clutch.dam,
        "sire": "|".join(clutch.sires),
        "hatched": born.isoformat(),
        "clutch": f"{clutch.dam} {born:%Y}",
    }
    try:
        weights = [e for row in rows if (e := _weight(row, today(), by))]
        refusals = save_together([row | same for row in rows], weights, today())
    except ValueError as wrong:
        return [said(str(wrong))]
    return [f"{rows[r.line - 2]['tag']}, {r.column}: {said(r.text)}" for r in refusals]


def _weight(row: dict[str, str], on: date, by: str) -> Entry | None:
    if not row["grams"].strip():
        return None
    grams = value_of(Kind.WEIGHT, with_point(row["grams"]))
    return Entry(str(UUID(row["key"])), on, None, row["tag"].strip(), Kind.WEIGHT, grams, None, by)
