"""One tub at `/tub/A-3-2`, where the code on its label leads: what is due, and noting anything."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple
from uuid import UUID, uuid4

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_POST, require_safe

from eggtooth.engine.colony import Animal, Colony, Tub, tub_from
from eggtooth.engine.entries import Entry, Kind, Sign
from eggtooth.engine.history import History
from eggtooth.jobs import noting
from eggtooth.jobs.day import Day, day
from eggtooth.records import store
from eggtooth.records.files.details import MEASURES, NEEDED
from eggtooth.web.answers import steps_of
from eggtooth.web.asked import on_a_day
from eggtooth.web.clock import day_noted, may_note
from eggtooth.web.doors import keeper_of
from eggtooth.web.prey import choices_of
from eggtooth.web.round_page import by_tub
from eggtooth.web.speech import said, spoken
from eggtooth.web.told import inside, kept, refused
from eggtooth.web.typed_number import in_words, value_typed

MEALS = ((gettext_noop("ate 1"), "1"), (gettext_noop("ate 2"), "2"), (gettext_noop("refused"), "0"))


LATEST_MEALS = 12
"""Meals looked back on for the prey it is used to."""

AS_WRITTEN = "2 slugs, 7 follicles, medium rat 90g, Clown 1, A-3-2"
"""Details as a log has them, the same in every language."""

MOST_DETAILS = 40
"""Details offered while one is typed."""


class Inside(NamedTuple):
    """An animal as the page offers to note of it: the grams to begin from (its last weight), the steps around
    them, and the prey to choose from, the likeliest first.
    """

    animal: Animal
    likely: str
    steps: str
    prey: tuple[str, ...]


@require_safe
@on_a_day
def show(request: HttpRequest, on: date, name: str) -> HttpResponse:
    """Who sits in the tub and what is due there."""
    try:
        tub = tub_from(name)
    except ValueError as wrong:
        return HttpResponseBadRequest(said(str(wrong)))
    found = day(on)
    sitting = sitting_in(found, on, tub)
    tags = {a.tag for a in sitting}
    tasks = [t for t in found.round.tasks if t.tub == tub or t.tag in tags]
    context = _context(found, on) | {
        "tub": tub,
        "inside": list(_noted_fast(found, on, sitting)),
        "tubs": by_tub(found.colony, tasks, may_note(on)),
    }
    return render(request, "tub.html", context | {"back": f"on={on}" if request.GET.get("on") else ""})


@require_safe
@on_a_day
def of_animal(request: HttpRequest, on: date, tag: str) -> HttpResponse:
    """Noting anything about one animal, wherever it is."""
    found = day(on)
    if tag not in found.colony.animals:
        raise Http404(spoken("{tag} is not an animal here", tag=tag))
    tasks = [t for t in found.round.tasks if tag in (t.tag, t.partner)]
    sitting = list(_noted_fast(found, on, [found.colony.animals[tag]]))
    context = _context(found, on) | {
        "tub": tag,
        "inside": sitting,
        "tubs": by_tub(found.colony, tasks, may_note(on)),
    }
    return render(request, "tub.html", context)


def _context(found: Day, on: date) -> dict[str, object]:
    return {
        "on": on,
        "kinds": [(kind, _needs(kind)) for kind in Kind],
        "details": [*Sign, *(f"in {box}" for box in found.colony.incubators)][:MOST_DETAILS],
        "as_written": AS_WRITTEN,
        "meals": MEALS,
        "shed": Kind.SHED,
        "new_key": lambda: uuid4().hex,
    }


def _needs(kind: Kind) -> str:
    """What a log asks for with a kind, in words: its number, its detail, or nothing."""
    measure = MEASURES.get(kind)
    number = [measure.what, measure.unit] if measure else []
    return ", ".join(filter(None, map(said, (*number, NEEDED.get(kind, "")))))


def _noted_fast(found: Day, on: date, animals: list[Animal]) -> Iterator[Inside]:
    for animal in animals:
        seen = History(found.colony.of_animal(animal.tag), on)
        tasks = [t for t in found.round.tasks if t.tag == animal.tag]
        prey = choices_of(tasks, seen.all(Kind.MEAL)[-LATEST_MEALS:])
        yield Inside(animal, *_grams(seen.last(Kind.WEIGHT)), prey)


def _grams(last: Entry | None) -> tuple[str, str]:
    grams = last.value if last else None
    return (f"{grams:g}", steps_of("g", grams)) if grams else ("", "")


def sitting_in(found: Day, on: date, tub: Tub) -> list[Animal]:
    """The animals whose tub it is, and those visiting them."""
    own = [a for a in found.colony.here(on) if found.colony.tub_of(a.tag, on) == tub]
    tags = {a.tag for a in own}
    guests = [found.colony.animals[male] for male, s in found.round.together.items() if s.female in tags]
    return own + [g for g in guests if g.tag not in tags]


@require_POST
def note(request: HttpRequest) -> HttpResponse:
    """Keep one entry typed as kind, value and detail, for a tag typed or given."""
    said = request.POST
    kind, (placed, _, box) = said.get("kind", ""), said.get("place", "").partition(" ")
    detail = f"in {box}" if box else said.get("detail", "")
    words = (kind, value_typed(kind, said.get("value", ""), store.settings()), detail)
    colony = store.colony()
    try:
        key, by = UUID(placed or said.get("key", "")), keeper_of(request).name
        entry = noting.note_as_written(colony, key, day_noted(request), said.get("tag", ""), words, by)
    except ValueError as wrong:
        return refused(wrong)
    told = f"{in_words(entry, store.settings())}{_change(colony, entry.tag, entry.kind, entry.value)}"
    return kept(request, entry.id, told, inside(said.get("back", ""), reverse("round")))


def _change(colony: Colony, tag: str, kind: Kind, value: float | None) -> str:
    """How a weight stands to the one before, so that a slip of the hand is seen at once."""
    before = [e for e in colony.of_animal(tag) if e.kind is Kind.WEIGHT]
    if kind is not Kind.WEIGHT or not before or value is None or not before[-1].value:
        return ""
    old = before[-1]
    grams = value - (old.value or 0)
    odd = abs(grams) > 0.15 * (old.value or 0)
    return spoken(
        " ({grams:+.0f} g since {on:%-d %b}; look again)" if odd else " ({grams:+.0f} g since {on:%-d %b})",
        grams=grams,
        on=old.on,
    )
