"""The males at `/males`: nights, mass, meals and the stretch until each must rest; worst first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.entries import Entry
from eggtooth.engine.facts import biology
from eggtooth.engine.spans import ago
from eggtooth.jobs import answered
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.males import Male
from eggtooth.web.asked import Page, on_a_day
from eggtooth.web.body_part import male_axis
from eggtooth.web.days import day_month
from eggtooth.web.drawn import Keys, drawn
from eggtooth.web.males_words import loss_said, rest_said
from eggtooth.web.pictures import nights, season
from eggtooth.web.pictures.axis import TimeAxis
from eggtooth.web.speech import spoken

PER_PAGE = 40
FACTS = (
    biology.MALE_REST_FROM,
    biology.MALE_REST_LATEST,
    biology.MALE_STOP_SPREAD,
    biology.MALE_ENDURANCE_SD,
    biology.MALE_SEASON_LOSS,
    biology.LOSS_WORRY,
    biology.LOSS_DRAMATIC,
)


@dataclass(frozen=True, slots=True)
class Row:
    """One male as the page tells him."""

    tag: str
    name: str
    tub: str
    state: WearState
    urgent: bool
    rest: str
    said: str
    why: str
    picture: SafeString
    numbers: tuple[tuple[str, str], ...]
    entries: tuple[Entry, ...]


@require_safe
@on_a_day
def show(request: HttpRequest, on: date) -> HttpResponse:
    """The page; `on` picks the day, `page` the part of a long list."""
    source = from_store()
    found = answered.males(source, on)
    page = Page.asked(request, PER_PAGE).of(len(found))

    def context(_: Keys) -> dict[str, object]:
        shown = found[page.first : page.first + PER_PAGE]
        out = [m for m in shown if m.out]
        axis = male_axis([m.season for m in out], source, on)
        return {
            "on": on,
            "rows": [_row(m, axis, on) for m in out],
            "others": [m for m in shown if not m.out],
            "males": len(found),
            "page": page,
            "months": season.months(axis, on),
            "facts": FACTS,
        }

    main = drawn(request, "males_main.html", found, (on, page), context)
    return render(request, "males.html", {"main": main})


def _row(male: Male, axis: TimeAxis, on: date) -> Row:
    wear, its = male.season.wear, male.season
    eaten = male.eaten.on if male.eaten else None
    by = wear.rest_by if wear.state is not WearState.RESTING else None
    return Row(
        male.animal.tag,
        male.animal.name,
        str(male.tub or ""),
        wear.state,
        wear.state is WearState.REST,
        rest_said(wear),
        ", ".join(filter(None, (loss_said(wear), _ate(wear.days_since_meal)))),
        wear.why,
        nights.nights(axis, on, its.nights, its.locks, by, eaten),
        _numbers(male),
        wear.entries,
    )


def _ate(days: int | None) -> str:
    return spoken("no meal noted") if days is None else spoken("ate {ago}", ago=ago(days))


def _numbers(male: Male) -> tuple[tuple[str, str], ...]:
    wear = male.season.wear
    by = wear.rest_by
    return (
        (spoken("mass now"), f"{male.mass.mass_g:.0f} g" if male.mass else spoken("never weighed")),
        (
            spoken("against the season's start"),
            spoken("not known") if wear.loss is None else f"{-wear.loss:+.0f} %",
        ),
        (
            spoken("days since he ate"),
            spoken("not known") if wear.days_since_meal is None else str(wear.days_since_meal),
        ),
        (spoken("nights in"), str(wear.nights_in)),
        (spoken("days a lock was seen"), str(wear.locks)),
        (
            spoken("rest by, 5 % / middle / 95 %"),
            " / ".join(day_month(d) for d in by) if by else spoken("does not breed"),
        ),
    )
