"""Noting what happened from a line of the round, and taking it back."""

from __future__ import annotations

import math
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext
from django.views.decorators.http import require_POST

from eggtooth.engine.entries import Entry, Kind
from eggtooth.jobs import noting
from eggtooth.records.people import Role
from eggtooth.web.answers import ALL, Answer
from eggtooth.web.clock import day_noted
from eggtooth.web.doors import keeper_of
from eggtooth.web.names import entry_said, named
from eggtooth.web.prey import chosen
from eggtooth.web.speech import spoken
from eggtooth.web.told import inside, kept, refused
from eggtooth.web.typed_number import with_point


@require_POST
def note(request: HttpRequest) -> HttpResponse:
    """Keep one entry. The id comes from the page, so that a double tap keeps it once."""
    words = request.POST.get("tap", "").split("|")
    if len(words) != 4 or words[1] not in ALL:
        return refused(gettext("This button is not known here; load the round again."))
    key, say, tag, partner = words
    answer = ALL[say]
    try:
        value = _number(answer, request.POST.get("number", ""))
        detail = chosen(request.POST, tag) if answer.kind is Kind.MEAL else answer.detail
        detail = partner if answer.takes_partner else detail
        made = noting.note(
            UUID(key), day_noted(request), tag, answer.kind, value, detail, keeper_of(request).name
        )
    except ValueError as wrong:
        return refused(wrong)
    return kept(request, made, _said(noting.kept(made)), _back(request, made))


@require_POST
def undo(request: HttpRequest) -> HttpResponse:
    """Void one entry; it stays in the records as voided."""
    try:
        key = UUID(request.POST.get("id", ""))
        take_back(request, key)
    except ValueError as wrong:
        return refused(wrong)
    return kept(request, key.hex, gettext("Taken back"), _back(request, ""))


def take_back(request: HttpRequest, key: UUID) -> None:
    """A helper takes back only what they noted themselves. Raises `ValueError`."""
    keeper, entry = keeper_of(request), noting.kept(key.hex)
    if entry is not None and entry.by != keeper.name and not keeper.may(Role.OWNER):
        raise ValueError(
            spoken(
                "{entry} was noted by {by}; the owner can take it back",
                entry=entry_said(entry),
                by=entry.by or spoken("somebody else"),
            )
        )
    noting.undo(key, keeper.name)


def _back(request: HttpRequest, noted: str) -> str:
    query = request.POST.get("back", "")
    if query.startswith("/"):
        return inside(query, reverse("round"))
    allowed = "&".join(p for p in query.split("&") if p.startswith(("on=", "do=", "rack=", "page=")))
    more = f"noted={noted}" if noted else ""
    joined = "&".join(filter(None, (allowed, more)))
    place = request.POST.get("place", "")
    anchor = f"#{place}" if place.replace("-", "").isalnum() else ""
    return reverse("round") + (f"?{joined}" if joined else "") + anchor


def _said(entry: Entry | None) -> str:
    return entry_said(entry) if entry else gettext("Noted")


def _number(answer: Answer, text: str) -> float | None:
    if not answer.ask:
        return answer.value
    try:
        number = float(with_point(text))
    except ValueError:
        raise ValueError(
            spoken("{text!r} is not a number; type {ask}", text=text, ask=named(answer.ask))
        ) from None
    if not math.isfinite(number) or not answer.least <= number <= answer.most:
        raise ValueError(
            spoken(
                "{text} {ask} cannot be; it is from {least:g} to {most:g}",
                text=text,
                ask=named(answer.ask),
                least=answer.least,
                most=answer.most,
            )
        )
    return number
