"""The calendar feed at `/calendar/SECRET.ics`; the doors have looked at the secret."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from eggtooth.jobs.calendar import feed
from eggtooth.jobs.gather import from_store
from eggtooth.web.clock import today
from eggtooth.web.speech import said


@require_safe
def ics(request: HttpRequest, secret: str) -> HttpResponse:
    """The feed. On a machine of one's own, where nobody signs in, any word will do for the secret."""
    return HttpResponse(feed(from_store(), today(), said), content_type="text/calendar; charset=utf-8")
