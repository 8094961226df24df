"""Contradictions and doubts at `/doubts`: what cannot be and what is odd, with the entries behind."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from eggtooth.engine.doubts import Grade
from eggtooth.jobs import answered
from eggtooth.jobs.gather import from_store
from eggtooth.web.asked import Page
from eggtooth.web.clock import today

PER_PAGE = 150


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The page."""
    noted = answered.odd(from_store(), today())
    page = Page.asked(request, PER_PAGE).of(len(noted))
    shown = noted[page.first : page.first + PER_PAGE]
    context = {
        "contradictions": [d for d in shown if d.grade is Grade.CONTRADICTION],
        "doubts": [d for d in shown if d.grade is Grade.DOUBT],
        "page": page,
        "on": today(),
    }
    return render(request, "doubts.html", context)
