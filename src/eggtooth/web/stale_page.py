"""The answer to a form of a page opened too long ago, or of another site: its token is not ours."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from eggtooth.web.speech import spoken


def refused(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A page and no plain text, so that the script lets what it noted wait until the page is opened anew."""
    context = {
        "title": spoken("This page was open too long"),
        "words": spoken("Nothing of it was kept. Open the page anew and send it again."),
        "address": "/",
        "label": spoken("To the round"),
    }
    return render(request, "plain.html", context, status=403)
