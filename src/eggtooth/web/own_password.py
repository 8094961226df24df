"""Choosing one's own password: in place of a first one, at `/first-password`, before any other page opens."""

from __future__ import annotations

import hashlib

from django.contrib.auth import authenticate, update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from eggtooth.engine.wording import say
from eggtooth.records import knocks, people
from eggtooth.web.doors import beginner
from eggtooth.web.knocking import LOG, visitor
from eggtooth.web.speech import said


@require_http_methods(["GET", "HEAD", "POST"])
def first(request: HttpRequest) -> HttpResponse:
    """The page; whoever has a password of their own is led to where it is changed."""
    person = beginner(request)
    if person is None:
        return redirect("me")
    problem = ""
    if request.method == "POST":
        try:
            choose(request, person.name, request.POST.get("old", ""), request.POST.get("new", ""))
            LOG.warning("%r chose a password in place of the first one", person.name)
            return redirect("round")
        except ValueError as wrong:
            problem = said(str(wrong))
    context = {"name": person.name, "until": person.first_until, "problem": problem}
    return render(request, "first_password.html", context, status=400 if problem else 200)


def choose(request: HttpRequest, name: str, old: str, new: str) -> None:
    """A new password of one's own, for which the present one is needed; other sessions end.

    Raises `ValueError`, and after a few wrong tries in this session even when the present one is right: a
    session left open is not to be a place to guess at.
    """
    session = hashlib.sha256((request.session.session_key or "").encode()).hexdigest()[:40]
    here = f"session {session}"
    if knocks.too_many(name, visitor(request), here):
        raise ValueError(say("Too many wrong tries; wait a quarter of an hour."))
    if authenticate(request, username=name, password=old) is None:
        knocks.knocked(name, here)
        raise ValueError(say("The present password is wrong."))
    people.set_password(name, new, name)
    if request.user.is_authenticated:
        request.user.refresh_from_db()
        update_session_auth_hash(request, request.user)
