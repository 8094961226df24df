"""How an answer to something noted goes out: a few words for a script, the page again for a plain form."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest, JsonResponse
from django.shortcuts import redirect

from eggtooth.web.speech import said


def wants_words(request: HttpRequest) -> bool:
    """Whether a script asks, which needs no page."""
    return request.headers.get("Accept", "").startswith("application/json")


def kept(request: HttpRequest, key: str, said: str, back: str) -> HttpResponse:
    """It is kept: its id and what was kept in words, or the page it came from."""
    return JsonResponse({"kept": key, "said": said}) if wants_words(request) else redirect(back)


def refused(reason: str | ValueError) -> HttpResponse:
    """It cannot be; the text says what was found, against what, and what to do."""
    return HttpResponseBadRequest(
        said(reason if isinstance(reason, str) else str(reason)), content_type="text/plain; charset=utf-8"
    )


def inside(path: str, otherwise: str) -> str:
    """The way back a form names, when it is a path of this site; else the other one."""
    fine = path.startswith("/") and not path.startswith("//") and "\\" not in path and path.isprintable()
    return path if fine else otherwise
