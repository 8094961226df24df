"""The list of all pages at `/all`: what each answers, in the order of a day and of a year."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

PARTS: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...] = (
    (
        "Tonight",
        (
            ("round", "Round", "what to do, tub by tub"),
            ("room", "Room", "racks and tubs, who sits where, what is due"),
            ("nights", "Nights", "who sits where tonight and in the coming week"),
            ("scale", "Weighing", "many animals, one after the other"),
            ("feeding", "Feeding", "a whole rack, with exceptions"),
            ("hatchlings", "Hatchlings", "a whole clutch by look, sex and weight"),
        ),
    ),
    (
        "The season",
        (
            ("season", "Season", "where each female is, and when what is due"),
            ("males", "Males", "how each holds up, and until when"),
            ("ready", "Ready", "who is fit to breed, and from when"),
            ("clutches", "Clutches", "when they pip, and whether the incubators have places"),
            ("feeders", "Feeders", "how many prey of each size the coming weeks need"),
            ("review", "Last season", "the forecasts against what happened"),
        ),
    ),
    (
        "Who and with whom",
        (
            ("cross", "Cross", "what a pair can produce"),
            ("wishes", "Wishes", "what you want to see hatch"),
            ("plan", "Plan", "the season's pairs for the wishes, and what a change would cost"),
            ("routes", "Routes", "ways to a wish several seasons off"),
        ),
    ),
    (
        "The records",
        (
            ("animal-new", "New animal", "one more in the room"),
            ("find", "Find an animal", "by its tag"),
            ("records", "Records", "find, put right, take back"),
            ("doubts", "To look into", "what cannot be, and what is odd"),
            ("bring", "Bring and take", "a sheet of your own in, everything out"),
            ("labels", "Labels", "for tubs and clutches, with codes that open their pages"),
            ("settings", "Settings", "nights, season, limits of this house"),
            ("people", "People", "who may come in, and how far"),
            ("me", "My keys", "password, calendar address, tokens"),
        ),
    ),
)


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The page."""
    parts = [(name, [(reverse(page), label, says) for page, label, says in pages]) for name, pages in PARTS]
    return render(request, "all.html", {"parts": parts})
