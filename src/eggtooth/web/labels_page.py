"""Labels and cards to print, at `/labels`: choose the rack and the sheet, get a pdf."""

from __future__ import annotations

from dataclasses import replace

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.views.decorators.http import require_safe

from eggtooth.jobs.hatching import hatched_clutches
from eggtooth.jobs.labels import SHEETS, Label, hatch_cards, printed, tub_labels
from eggtooth.records import store
from eggtooth.web.clock import today
from eggtooth.web.speech import said, spoken

MOST_SKIPPED = 200


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """What can be printed."""
    colony = store.colony()
    tubs = (colony.tub_of(a.tag, today()) for a in colony.here(today()))
    context = {
        "racks": sorted({t.rack for t in tubs if t}),
        "sheets": [(key, sheet.name) for key, sheet in SHEETS.items()],
        "site": _site(request),
    }
    return render(request, "labels.html", context)


@require_safe
def pdf(request: HttpRequest) -> HttpResponse:
    """The labels of a rack (or of all), or the cards of this year's clutches."""
    sheet, skip = SHEETS.get(request.GET.get("sheet", "")), request.GET.get("skip", "") or "0"
    if sheet is None:
        return HttpResponseBadRequest(spoken("the sheet is one of: {known}", known=", ".join(SHEETS)))
    if not (skip.isascii() and skip.isdecimal() and int(skip) <= MOST_SKIPPED):
        return HttpResponseBadRequest(
            spoken("skip: {skip!r} is not a whole number from 0 to {most}", skip=skip, most=MOST_SKIPPED)
        )
    colony, site = store.colony(), _site(request)
    if request.GET.get("what") == "clutches":
        labels = hatch_cards(hatched_clutches(colony, today(), store.settings()), site)
    else:
        labels = tub_labels(colony, today(), site, request.GET.get("rack", ""))
    return HttpResponse(
        printed([_said(label) for label in labels], sheet, int(skip)), content_type="application/pdf"
    )


def _site(request: HttpRequest) -> str:
    """The address of this site as the browser sees it: what a phone in the house must be able to open."""
    return f"{request.scheme}://{request.get_host()}"


def _said(label: Label) -> Label:
    return replace(label, title=said(label.title), lines=tuple(map(said, label.lines)))
