"""Who comes in, and how far: a stranger sees the sign-in page and nothing else; each role has its rights.

Sign-in is asked wherever the pages can be reached from another machine. `eggtooth serve` without `--house`
listens on this machine only and sets `EGGTOOTH_SIGN_IN=0`: whoever sits at it may open the store anyway.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse, HttpResponseForbidden, HttpResponseRedirect, JsonResponse
from django.utils.translation import gettext

from eggtooth.records import first_passwords
from eggtooth.records.door_book import Did, write_turned_away
from eggtooth.records.models import Person
from eggtooth.records.people import Keeper, Purpose, Role, by_secret
from eggtooth.web.knocking import LOG, visitor
from eggtooth.web.speech import spoken
from eggtooth.web.told import wants_words

ALONE = Keeper("keeper", Role.OWNER)
"""Whoever sits at a machine that nobody else can reach."""

NOTING = frozenset(
    {"note", "note-entry", "undo", "feeding", "photos", "me", "sign-out"}
    | {"api-entries", "api-temperature", "api-undo"}
)
"""Pages a helper may send something to; everything else that changes anything is the owner's."""

OWNERS = frozenset({"people", "door-book", "settings", "take", "bring", "bring-sheet"})
"""Pages only an owner may see."""

READERS_OWN = frozenset({"me", "sign-out"})
"""Pages a reader may send something to."""

BEGINNERS = frozenset({"/first-password", "/sign-out"})
"""All that opens to whoever came in with a first password and has yet to choose one of their own."""


def sign_in_asked() -> bool:
    """Whether a stranger must sign in; only a server that nobody else can reach leaves it out."""
    return os.environ.get("EGGTOOTH_SIGN_IN") != "0"


def keeper_of(request: HttpRequest) -> Keeper:
    """Who is at the page; the doors have let them in."""
    keeper = getattr(request, "keeper", None)
    assert isinstance(keeper, Keeper), "this page was reached around the doors"
    return keeper


def right_for(page: str, method: str) -> Role:
    """The least role for a page and a method. What is not named here is the owner's to change."""
    if method in ("GET", "HEAD", "OPTIONS"):
        return Role.OWNER if page in OWNERS else Role.READER
    if page in READERS_OWN:
        return Role.READER
    return Role.HELPER if page in NOTING else Role.OWNER


class Doors:
    """Middleware: strangers to the sign-in page whatever they ask for, and each role as far as it goes."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        """Stand before the pages."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Find out who it is, before any address is looked up."""
        keeper = _who(request)
        if keeper is None and request.path_info != "/sign-in":
            begins = beginner(request) is not None
            if not (begins and request.path_info in BEGINNERS):
                return _stranger(request, begins)
        request.keeper = keeper  # type: ignore[attr-defined]
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponse | None:
        """Stop a role where it ends."""
        match, keeper = request.resolver_match, getattr(request, "keeper", None)
        if keeper is None or (match and match.url_name == "sign-in"):
            return None
        needed = right_for(match.url_name or "" if match else "", request.method or "")
        if keeper.may(needed):
            return None
        _refused(request, keeper, str(match.url_name) if match else "")
        words = spoken(
            "This is for the {needed}; {name} is {role} here.",
            needed=gettext(str(needed)),
            name=keeper.name,
            role=gettext(str(keeper.role)),
        )
        return HttpResponseForbidden(words, content_type="text/plain; charset=utf-8")


def _who(request: HttpRequest) -> Keeper | None:
    if not sign_in_asked():
        return ALONE
    path = request.path_info
    if path.startswith("/api/"):  # by token alone: a session's cookie would come along with any site's form
        return by_secret(_token(request), Purpose.INTERFACE)
    if path.startswith("/calendar/") and path.endswith(".ics"):
        return by_secret(path.removeprefix("/calendar/").removesuffix(".ics"), Purpose.CALENDAR)
    person = _signed_in(request)
    if person is None or first_passwords.to_be_changed(person):
        return None
    return Keeper(person.name, Role(person.role))


def beginner(request: HttpRequest) -> Person | None:
    """Whoever came in with a first password that has not ended, and has yet to choose one of their own."""
    person = _signed_in(request) if sign_in_asked() else None
    if person is None or not first_passwords.to_be_changed(person) or first_passwords.ended(person):
        return None
    return person


def _signed_in(request: HttpRequest) -> Person | None:
    person = request.user
    return person if person.is_authenticated and person.is_active else None


def _token(request: HttpRequest) -> str:
    kind, _, token = request.headers.get("Authorization", "").partition(" ")
    return token.strip() if kind.casefold() == "bearer" else ""


def _stranger(request: HttpRequest, begins: bool) -> HttpResponse:
    if request.path_info.startswith("/api/") or wants_words(request):
        return JsonResponse({"detail": "choose a password first" if begins else "sign in first"}, status=401)
    return HttpResponseRedirect("/first-password" if begins else "/sign-in")


def _refused(request: HttpRequest, keeper: Keeper, page: str) -> None:
    """Tell of it; that a store cannot be written is no reason to open the page, nor to say anything else."""
    LOG.warning("refused: %r (%s) may not %s the page %r", keeper.name, keeper.role, request.method, page)
    what = f"{request.method} {page}"
    try:
        write_turned_away(Did.REFUSED, visitor(request), keeper.name, keeper.name, what)
    except DatabaseError as fault:
        LOG.warning("this could not be written into the door book: %s", fault)
