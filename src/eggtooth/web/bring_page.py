"""One's own records in, at `/bring`: a sheet is uploaded, matched, looked through, then taken in."""

from __future__ import annotations

from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from eggtooth.jobs.gather import Refused
from eggtooth.jobs.upload import laid_aside, lay_aside, preview, put_away, take_in
from eggtooth.records.files.table import COLUMNS
from eggtooth.records.sheets.dates import Order, ambiguous
from eggtooth.records.sheets.matching import ROLES, Match, guess
from eggtooth.records.sheets.opening import LARGEST_BYTES, Sheet, Unfit
from eggtooth.web.clock import today
from eggtooth.web.speech import said, spoken

SHOWN, REFUSED_SHOWN = 3, 200


@require_http_methods(["GET", "HEAD", "POST"])
def bring(request: HttpRequest) -> HttpResponse:
    """Choose a file."""
    if request.method != "POST":
        return render(request, "bring.html", {"most": LARGEST_BYTES // 1_000_000})
    file = request.FILES.get("sheet")
    try:
        if not isinstance(file, UploadedFile):
            raise Unfit(spoken("No file was chosen."))
        if (file.size or 0) > LARGEST_BYTES:
            raise Unfit(f"{file.name} is larger than {LARGEST_BYTES // 1_000_000} MB; split it")
        return redirect("bring-sheet", key=lay_aside(file.name or "", file.read()))
    except Unfit as wrong:
        context = {"problem": said(str(wrong)), "most": LARGEST_BYTES // 1_000_000}
        return render(request, "bring.html", context, status=400)


@require_http_methods(["GET", "HEAD", "POST"])
def sheet(request: HttpRequest, key: str) -> HttpResponse:
    """What each column is, what would happen, and taking it in."""
    try:
        found = laid_aside(key)
    except LookupError as gone:
        return render(request, "bring.html", {"problem": str(gone)}, status=404)
    match = _asked(found, request) or guess(found)
    context = _context(found, match)
    if "tag" not in match.columns:
        return render(request, "sheet.html", context | {"problem": spoken("Say which column holds the tag.")})
    if request.method == "POST" and request.POST.get("do") in ("all", "good"):
        try:
            done = take_in(found, match, key, today(), request.POST["do"] == "good")
        except Refused as refused:
            return render(request, "sheet.html", context | _told(refused.refusals), status=400)
        refused_texts = [path.read_text(encoding="utf-8") for path in done.refused_files]
        put_away(key)
        return render(request, "brought.html", {"done": done, "refused": refused_texts})
    looked = preview(found, match, key, today())
    counts = {
        "animals": len(looked.reading.animals),
        "new": looked.new,
        "entries": len(looked.reading.entries),
    }
    return render(request, "sheet.html", context | counts | _told(looked.reading.refusals))


def _told(refusals: Any) -> dict[str, object]:
    shown = [said(str(r)) for r in refusals[:REFUSED_SHOWN]]
    return {"refusals": shown, "more": len(refusals) - len(shown), "looked": True}


def _asked(found: Sheet, request: HttpRequest) -> Match | None:
    """The matching the form says: `column-PLACE` names the column of the file, or nothing."""
    said = request.POST
    if said.get("role") not in ROLES:
        return None
    role, columns = said["role"], dict[str, int]()
    for place in range(len(found.header)):
        if (name := said.get(f"column-{place}", "")) in COLUMNS[role] and name not in columns:
            columns[name] = place
    order = Order(said["order"]) if said.get("order") in list(Order) else Order.YEAR
    return Match(role, columns, order, said.get("kind", "")[:40])


def _context(found: Sheet, match: Match) -> dict[str, object]:
    by_place = {place: name for name, place in match.columns.items()}
    columns = [
        (place, name, by_place.get(place, ""), found.column(place)[:SHOWN])
        for place, name in enumerate(found.header)
        if name
    ]
    day = match.columns.get("date" if match.role == "log" else "hatched")
    return {
        "sheet": found,
        "match": match,
        "columns": columns,
        "names": COLUMNS[match.role],
        "roles": ROLES,
        "orders": list(Order),
        "unsure_dates": day is not None and ambiguous(found.column(day)),
    }
