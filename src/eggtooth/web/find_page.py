"""To an animal by its tag at `/find`: the page of the animal, or what is wrong with the tag."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from eggtooth.jobs.noting import known_tag
from eggtooth.records import store
from eggtooth.web.speech import said


@require_safe
def find(request: HttpRequest) -> HttpResponse:
    """Small letters and missing dashes are understood, as on the scale."""
    tag, problem = request.GET.get("tag", ""), ""
    if tag:
        try:
            return redirect("animal", known_tag(store.colony(), "tag", tag))
        except ValueError as wrong:
            problem = said(str(wrong))
    return render(request, "find.html", {"tag": tag, "problem": problem}, status=404 if problem else 200)
