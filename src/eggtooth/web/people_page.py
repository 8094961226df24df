"""Signing in and out, one's own keys at `/me`, and the owner's list of people at `/people`."""

from __future__ import annotations

from django.contrib.auth import authenticate, login, logout, update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from eggtooth.engine.wording import say
from eggtooth.records import people
from eggtooth.records.people import Purpose, Role
from eggtooth.web.doors import keeper_of, sign_in_asked
from eggtooth.web.knocking import LOG, device, remember, visitor


@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Name and password; after a few wrong ones it waits."""
    if request.method != "POST":
        return render(request, "sign_in.html")
    name, password = request.POST.get("name", ""), request.POST.get("password", "")
    address, known = visitor(request), device(request, name)
    if people.too_many(name, address, known):
        LOG.warning("sign-in from %r waits: too many wrong tries", address)
        problem = say("Too many wrong tries; wait a quarter of an hour.")
        return render(request, "sign_in.html", {"problem": problem}, status=429)
    person = authenticate(request, username=name, password=password)
    if person is None:
        people.knocked(name, known or address)
        LOG.warning("sign-in from %r failed for %s", address, people.who_for_log(name))
        return render(
            request, "sign_in.html", {"problem": say("Name or password is wrong."), "name": name}, status=403
        )
    request.session.flush()  # the framework keeps the session of one who signs in twice
    login(request, person)
    answer = redirect("round")
    remember(answer, name)
    return answer


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Leave, here or on every device; the session ends on the server, and the browser forgets the pages."""
    keeper = keeper_of(request)
    if request.POST.get("where") == "everywhere" and sign_in_asked():
        people.end_sessions(keeper.name)
        LOG.warning("me: %r signed out everywhere", keeper.name)
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
            told = {"problem": str(wrong)}
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
            if authenticate(request, username=name, password=said.get("old", "")) is None:
                raise ValueError(say("The present password is wrong."))
            people.set_password(name, said.get("new", ""))
            if request.user.is_authenticated:
                request.user.refresh_from_db()
                update_session_auth_hash(request, request.user)
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
    """Everyone with a key: let in, role, out again."""
    problem, said = "", request.POST
    if request.method == "POST":
        try:
            match said.get("do"):
                case "add":
                    people.add(said.get("name", ""), _role(said), said.get("password", ""))
                case "role":
                    people.change(said.get("name", ""), role=_role(said))
                case "out" | "in" as way:
                    people.change(said.get("name", ""), active=way == "in")
                case "password":
                    people.set_password(said.get("name", ""), said.get("password", ""))
                case other:
                    raise ValueError(f"{other!r} is nothing that can be done here")
            LOG.warning("people: %r did %r for %r", keeper_of(request).name, said.get("do"), said.get("name"))
            return redirect("people")
        except ValueError as wrong:
            problem = str(wrong)
    context = {"people": people.everyone(), "roles": list(Role), "problem": problem, "asked": sign_in_asked()}
    return render(request, "people.html", context, status=400 if problem else 200)


def _role(said: object) -> Role:
    text = said.get("role", "")  # type: ignore[attr-defined]
    if text not in list(Role):
        raise ValueError(f"role: {text!r} is not a role; one of: {', '.join(Role)}")
    return Role(text)
