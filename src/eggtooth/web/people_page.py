"""Signing in and out, one's own keys at `/me`, and the owner's list of people at `/people`."""

from __future__ import annotations

from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from eggtooth.engine.wording import say
from eggtooth.records import first_passwords, knocks, people
from eggtooth.records.door_book import Did, write_turned_away
from eggtooth.records.first_passwords import First
from eggtooth.records.models import Person
from eggtooth.records.people import Purpose, Role
from eggtooth.web.doors import keeper_of, sign_in_asked
from eggtooth.web.knocking import LOG, device, remember, visitor
from eggtooth.web.own_password import choose
from eggtooth.web.speech import said


@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Name and password; after a few wrong ones it waits."""
    if request.method != "POST":
        return render(request, "sign_in.html")
    name, password = request.POST.get("name", ""), request.POST.get("password", "")
    address, known = visitor(request), device(request, name)
    if knocks.too_many(name, address, known):
        return _turned_away(request, Did.WAITS, say("Too many wrong tries; wait a quarter of an hour."), 429)
    person = authenticate(request, username=name, password=password)
    if not isinstance(person, Person):
        knocks.knocked(name, known or address)
        return _turned_away(request, Did.WRONG, say("Name or password is wrong."))
    if first_passwords.ended(person):
        return _turned_away(
            request, Did.TOO_LATE, say("This first password has ended; ask an owner for another.")
        )
    request.session.flush()  # the framework keeps the session of one who signs in twice
    login(request, person)
    answer = redirect("first-password" if first_passwords.to_be_changed(person) else "round")
    remember(answer, name)
    return answer


def _turned_away(request: HttpRequest, did: Did, problem: str, status: int = 403) -> HttpResponse:
    """The sign-in page again; what was typed as a name is written down only where somebody bears it."""
    typed, address = request.POST.get("name", ""), visitor(request)
    name = knocks.name_if_known(typed)
    LOG.warning("%s, from %r, for %s", did, address, repr(name) if name else "a name not known here")
    write_turned_away(did, address, whom=name)
    return render(request, "sign_in.html", {"problem": problem, "name": typed}, status=status)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Leave, here or on every device; the session ends on the server, and the browser forgets the pages."""
    person = request.user
    if request.POST.get("where") == "everywhere" and person.is_authenticated:
        people.sign_out_everywhere(person.name)
        LOG.warning("me: %r signed out everywhere", person.name)
    logout(request)
    answer = redirect("sign-in")
    answer["Clear-Site-Data"] = '"cache"'  # not "storage": what waits there for a network would be lost
    return answer


@require_http_methods(["GET", "HEAD", "POST"])
def me(request: HttpRequest) -> HttpResponse:
    """One's own password, calendar address and tokens. A new secret is shown once."""
    keeper, told = keeper_of(request), dict[str, str]()
    if not sign_in_asked():
        return render(request, "me.html", {"alone": True})
    if request.method == "POST":
        try:
            told = _mine(request, keeper.name)
            LOG.warning("me: %r did %r", keeper.name, request.POST.get("do"))
        except ValueError as wrong:
            told = {"problem": said(str(wrong))}
    context = {
        "keeper": keeper,
        "calendars": people.secrets_of(keeper.name, Purpose.CALENDAR),
        "tokens": people.secrets_of(keeper.name, Purpose.INTERFACE),
        "site": f"{request.scheme}://{request.get_host()}",
    }
    return render(request, "me.html", context | told, status=400 if "problem" in told else 200)


def _mine(request: HttpRequest, name: str) -> dict[str, str]:
    said = request.POST
    match said.get("do"):
        case "password":
            choose(request, name, said.get("old", ""), said.get("new", ""))
            return {"done": say("The new password is kept; other sessions are ended.")}
        case "calendar":
            return {"calendar": people.make_secret(name, Purpose.CALENDAR)}
        case "no calendar":
            people.end_secrets(name, Purpose.CALENDAR)
        case "token":
            return {"token": people.make_secret(name, Purpose.INTERFACE, said.get("label", ""))}
        case "no token":
            people.end_secrets(name, Purpose.INTERFACE, _whole(said.get("key", "")))
        case other:
            raise ValueError(f"{other!r} is nothing that can be done here")
    return {"done": "Ended."}


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and len(text) < 18):
        raise ValueError(f"{text!r} is not a key")
    return int(text)


@require_http_methods(["GET", "HEAD", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """Everyone with a key: let in, role, a new first password, out again. A first password is shown once."""
    problem, first = "", None
    if request.method == "POST":
        try:
            first = _done(request)
            if first is None:
                return redirect("people")
        except ValueError as wrong:
            problem = said(str(wrong))
    context = {
        "people": people.everyone(),
        "roles": list(Role),
        "problem": problem,
        "first": first,
        "asked": sign_in_asked(),
        "mine": keeper_of(request).name,
    }
    return render(request, "people.html", context, status=400 if problem else 200)


def _done(request: HttpRequest) -> First | None:
    """What the owner asked for, and the first password where one was made. Raises `ValueError`."""
    said, first = request.POST, None
    name, by = said.get("name", ""), keeper_of(request).name
    match said.get("do"):
        case "add":
            first = first_passwords.let_in(name, _role(said), by)
        case "role":
            people.change(name, role=_role(said), by=by)
        case "out" | "in" as way:
            people.change(name, active=way == "in", by=by)
        case "password":
            if sign_in_asked() and name == by:
                raise ValueError(say("Your own password is changed at My keys."))
            first = first_passwords.renew(name, by)
        case other:
            raise ValueError(f"{other!r} is nothing that can be done here")
    LOG.warning("people: %r did %r for %r", by, said.get("do"), name)
    return first


def _role(said: object) -> Role:
    text = said.get("role", "")  # type: ignore[attr-defined]
    if text not in list(Role):
        raise ValueError(f"role: {text!r} is not a role; one of: {', '.join(Role)}")
    return Role(text)
