"""The door book at `/people/book`: who changed people and their keys, and who was turned away. For owners."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_noop as _
from django.views.decorators.http import require_safe

from eggtooth.engine.wording import Said, filled, say
from eggtooth.records import door_book
from eggtooth.records.door_book import Did, Line
from eggtooth.web.names import named
from eggtooth.web.speech import said

MOST = 100
SORTS = (("", _("All")), ("changes", _("Changes")), ("away", _("Turned away")))
ONLY = {"changes": False, "away": True}
SAID: dict[str, Said] = {
    Did.LET_IN: say("{whom} was let in as {role}"),
    Did.ROLE: say("{whom} was given the role {role}"),
    Did.OUT: say("{whom} is let in no longer; sessions, tokens and calendar address ended"),
    Did.IN_AGAIN: say("{whom} is let in again"),
    Did.FIRST_PASSWORD: say("{whom} was given a first password"),
    Did.OWN_PASSWORD: say("{whom} chose a password"),
    Did.TOKEN: say("{whom} has a new token: {what}"),
    Did.TOKEN_ENDED: say("a token of {whom} ended: {what}"),
    Did.CALENDAR: say("{whom} has a new calendar address"),
    Did.CALENDAR_ENDED: say("the calendar address of {whom} ended"),
    Did.SIGNED_OUT: say("{whom} signed out on every device"),
    Did.WRONG: say("Name or password was wrong: {whom}"),
    Did.WAITS: say("Too many wrong tries, has to wait: {whom}"),
    Did.TOO_LATE: say("The first password had ended: {whom}"),
    Did.REFUSED: say("{whom} may not do this: {what}"),
    Did.NO_MORE: say(
        "Of those turned away no more is written here on this day; the server's own output tells it."
    ),
}


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The newest lines; older ones by the number of the last one shown."""
    sort, before = request.GET.get("only", ""), request.GET.get("before", "")
    number = int(before) if before.isascii() and before.isdecimal() and len(before) < 18 else None
    found = door_book.latest(ONLY.get(sort), number, MOST + 1)
    context = {
        "lines": [(_in_words(line), line) for line in found[:MOST]],
        "sorts": [(name, label, name == sort) for name, label in SORTS],
        "sort": sort if sort in ONLY else "",
        "older": found[MOST - 1].number if len(found) > MOST else None,
        "most": door_book.MOST_TURNED_AWAY,
    }
    return render(request, "door_book.html", context)


def _in_words(line: Line) -> str:
    template = SAID.get(line.did)
    if template is None:  # written by a newer Eggtooth
        return " ".join(filter(None, (line.did, line.whom, line.what)))
    whom = line.whom or say("a name not known here")
    return said(
        filled(template.template, "", {"whom": whom, "role": named(line.what), "what": line.what or "–"})
    )
