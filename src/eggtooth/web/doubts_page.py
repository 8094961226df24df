"""Contradictions and doubts at `/doubts`: what cannot be and what is odd, with the entries behind."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from eggtooth.engine.doubts import Grade
from eggtooth.jobs.looking import everything_odd
from eggtooth.records import store
from eggtooth.web.clock import today


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The page."""
    noted = everything_odd(store.colony(), today())
    context = {
        "contradictions": [d for d in noted if d.grade is Grade.CONTRADICTION],
        "doubts": [d for d in noted if d.grade is Grade.DOUBT],
    }
    return render(request, "doubts.html", context)
