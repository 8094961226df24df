"""Headers that go out with every page: nothing is loaded from elsewhere, nothing is framed or kept."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; script-src 'self'; connect-src 'self'; "
    "worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)


def strict(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware that sets the content policy on each answer."""

    def respond(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response["Permissions-Policy"] = "camera=(), geolocation=(), microphone=()"
        response["Content-Security-Policy"] = POLICY
        response["Cache-Control"] = response.get("Cache-Control", "no-store")
        return response

    return respond
