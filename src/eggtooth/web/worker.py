"""The service worker at `/sw.js` (at the root, to reach every page) and the house's certificate."""

from __future__ import annotations

from importlib.resources import files

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from eggtooth.records.authority import authority_certificate
from eggtooth.records.place import store_path


@require_safe
def script(request: HttpRequest) -> HttpResponse:
    """The worker's script."""
    text = files("eggtooth.web").joinpath("static/sw.js").read_text(encoding="utf-8")
    return HttpResponse(text, content_type="text/javascript; charset=utf-8")


@require_safe
def away(request: HttpRequest) -> HttpResponse:
    """What stands in for a page that was never seen here, while there is no network."""
    return render(request, "away.html")


@require_safe
def certificate(request: HttpRequest) -> HttpResponse:
    """The certificate of this house's authority, for a phone to take once."""
    found = authority_certificate(store_path().absolute().with_suffix(".tls"))
    if found is None:
        raise Http404("this house has no authority of its own; eggtooth serve --house makes one")
    return HttpResponse(found, content_type="application/x-x509-ca-cert")
