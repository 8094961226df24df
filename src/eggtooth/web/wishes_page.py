"""The wishes at `/wishes`: what to see hatch, how much it matters, how many; add, weigh, take off."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from eggtooth.engine.facts.catalogue import standard
from eggtooth.jobs import wishing
from eggtooth.web.speech import said
from eggtooth.web.typed_number import with_point


@require_http_methods(["GET", "HEAD", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """The page; a form sent with `do` (add, change, remove) is kept, or refused in a sentence."""
    if request.method == "POST":
        try:
            _keep(request)
        except ValueError as wrong:
            return _page(request, problem=said(str(wrong)), status=422)
        return redirect("wishes")
    return _page(request)


def _keep(request: HttpRequest) -> None:
    text, weight, count = (request.POST.get(name, "") for name in ("wish", "weight", "count"))
    weight = with_point(weight)
    match request.POST.get("do"):
        case "add":
            wishing.add(text, weight, count)
        case "change":
            wishing.change(text, weight, count)
        case "remove":
            wishing.remove(text)
        case other:
            raise ValueError(f"{other!r} is not known here; load the page again")


def _page(request: HttpRequest, problem: str = "", status: int = 200) -> HttpResponse:
    wishes = wishing.wishes()
    most = max((w.weight for w in wishes), default=1.0) or 1.0
    typed = {name: request.POST.get(name, "") for name in ("wish", "weight", "count")}
    adding = request.POST.get("do") == "add"
    context = {
        "wishes": [(w, w.weight / most, w.text.startswith("prove ")) for w in wishes],
        "problem": problem,
        "typed": typed if adding else {},
        "genes": sorted(a.name for locus in standard().loci for a in locus.alleles),
    }
    return render(request, "wishes.html", context, status=status)
