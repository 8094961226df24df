"""The list of all pages at `/all`: what each answers, in the order of a day and of a year."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext_noop as _
from django.views.decorators.http import require_safe

PARTS: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...] = (
    (
        _("Tonight"),
        (
            ("round", _("Round"), _("what to do, tub by tub")),
            ("room", _("Room"), _("racks and tubs, who sits where, what is due")),
            ("nights", _("Nights"), _("who sits where tonight and in the coming week")),
            ("scale", _("Weighing"), _("many animals, one after the other")),
            ("feeding", _("Feeding"), _("a whole rack, with exceptions")),
            (
                "hatchlings",
                _("Hatchlings"),
                _("a whole clutch by look, sex and weight"),
            ),
        ),
    ),
    (
        _("The season"),
        (
            ("season", _("Season"), _("where each female is, and when what is due")),
            ("males", _("Males"), _("how each holds up, and until when")),
            ("ready", _("Ready"), _("who is fit to breed, and from when")),
            (
                "clutches",
                _("Clutches"),
                _("when they pip, and whether the incubators have places"),
            ),
            (
                "feeders",
                _("Feeders"),
                _("how many prey of each size the coming weeks need"),
            ),
            ("review", _("Last season"), _("the forecasts against what happened")),
            ("rates", _("Own rates"), _("what the finished seasons of this house say of its females")),
        ),
    ),
    (
        _("Who and with whom"),
        (
            ("cross", _("Cross"), _("what a pair can produce")),
            ("wishes", _("Wishes"), _("what you want to see hatch")),
            (
                "plan",
                _("Plan"),
                _("the season's pairs for the wishes, and what a change would cost"),
            ),
            ("routes", _("Routes"), _("ways to a wish several seasons off")),
        ),
    ),
    (
        _("The records"),
        (
            ("animal-new", _("New animal"), _("one more in the room")),
            ("find", _("Find an animal"), _("by its tag")),
            ("records", _("Records"), _("find, put right, take back")),
            ("doubts", _("To look into"), _("what cannot be, and what is odd")),
            ("bring", _("Bring and take"), _("a sheet of your own in, everything out")),
            (
                "labels",
                _("Labels"),
                _("for tubs and clutches, with codes that open their pages"),
            ),
            ("settings", _("Settings"), _("nights, season, limits of this house")),
            ("people", _("People"), _("who may come in, and how far")),
            ("door-book", _("Door book"), _("who changed keys, and who was turned away")),
            ("me", _("My keys"), _("password, calendar address, tokens")),
        ),
    ),
)


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The page."""
    parts = [(name, [(reverse(page), label, says) for page, label, says in pages]) for name, pages in PARTS]
    return render(request, "all.html", {"parts": parts})
