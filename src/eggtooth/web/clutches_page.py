"""Clutches at `/clutches`: when they pip, whether there are places for all, what the incubators held."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Any
from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from eggtooth.engine.colony import Incubator
from eggtooth.engine.eggs.places import by_day
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.planning.clutches import Clutch
from eggtooth.engine.planning.places import PlacesDay
from eggtooth.engine.spans import Span
from eggtooth.jobs import answered
from eggtooth.jobs.clutches import Eggs
from eggtooth.jobs.gather import Source, from_store
from eggtooth.web.asked import Page, on_a_day
from eggtooth.web.drawn import Keys, drawn
from eggtooth.web.pictures import incubation, season
from eggtooth.web.pictures.axis import TimeAxis
from eggtooth.web.speech import number, spoken
from eggtooth.web.typed_number import from_celsius

LOG_DAYS, LATEST_READINGS = 90, 20
LANES, PER_PAGE, BOXES_PER_PAGE = 2, 12, 4
WORTH_SAYING = 0.005
FACTS = (
    biology.INCUBATION_AT_31_5,
    biology.INCUBATION_SLOPE,
    biology.INCUBATION_RESIDUAL_CV,
    biology.THERMOSTAT_SD,
    biology.HATCHES,
    biology.FERTILE_PER_EGG,
    biology.WHOLE_CLUTCH_FAILS,
    biology.PIP_TO_HATCH,
)


@dataclass(frozen=True, slots=True)
class Row:
    """One clutch as the page tells it."""

    dam: str
    laid: Entry
    eggs: int
    hatch: str
    pip: Span
    due: str
    why: str
    picture: SafeString
    box: str
    others: list[tuple[str, str]]
    """The incubators it may be put in, each with the key its entry will have."""


@require_safe
@on_a_day
def show(request: HttpRequest, on: date) -> HttpResponse:
    """The page; `on` picks the day."""
    source = from_store()
    found = answered.eggs(source, on)
    boxes_parts = -(-len(source.colony.incubators) // BOXES_PER_PAGE)
    page = Page.asked(request, PER_PAGE).of(max(len(found.clutches), boxes_parts * PER_PAGE))

    def context(keys: Keys) -> dict[str, object]:
        coming = sorted(found.clutches, key=lambda c: (c.pip.q50, c.dam))
        axis = _axis(found.clutches, on)
        boxes, first_box = list(source.colony.incubators), (page.number - 1) * BOXES_PER_PAGE
        return {
            "on": on,
            "rows": [_row(c, axis, boxes, keys) for c in coming[page.first : page.first + PER_PAGE]],
            "page": page,
            "days": season.days(axis, on, LANES),
            "months": season.months(axis, on),
            "room": _room(found, on),
            "boxes": [
                _box(source, box, on)
                | {"dams": sorted(c.dam for c in found.clutches if c.box == box.tag and len(boxes) > 1)}
                for box in list(source.colony.incubators.values())[first_box : first_box + BOXES_PER_PAGE]
            ],
            "facts": FACTS,
        }

    main = drawn(request, "clutches_main.html", found, (on, page), context)
    return render(request, "clutches.html", {"main": main})


def _axis(clutches: Sequence[Clutch], on: date) -> TimeAxis:
    first = min([c.laid.on for c in clutches], default=on)
    last = max([c.pip.q95 for c in clutches], default=on)
    return TimeAxis(min(first - timedelta(days=4), on - timedelta(days=7)), max(last, on) + timedelta(days=7))


def _row(clutch: Clutch, axis: TimeAxis, boxes: Sequence[str], keys: Keys) -> Row:
    hatch = clutch.hatch
    laid = season.Mark(3, spoken("laid {on:%-d %b}", on=clutch.laid.on), seen=clutch.laid.on)
    if clutch.pip.q05 == clutch.pip.q95:
        pip = season.Mark(4, spoken("pipped {when}", when=clutch.pip), seen=clutch.pip.q50)
    else:
        pip = season.Mark(4, spoken("pips {when}", when=clutch.pip), list(_chances(clutch.pip, axis)))
    return Row(
        clutch.dam,
        clutch.laid,
        clutch.eggs,
        spoken(
            "{mid} ({low} to {high})",
            mid=hatch.quantile(0.5),
            low=hatch.quantile(0.05),
            high=hatch.quantile(0.95),
        ),
        clutch.pip,
        spoken("pipped {when}", when=clutch.pip) if pip.seen else spoken("pips {when}", when=clutch.pip),
        clutch.why,
        season.strip(axis, (laid, pip), (), ()),
        clutch.box if len(boxes) > 1 else "",
        _others(clutch, boxes, keys),
    )


def _others(clutch: Clutch, boxes: Sequence[str], keys: Keys) -> list[tuple[str, str]]:
    """The incubators it may be put in, each with the key of the entry that will say so."""
    others = [(box, uuid4().hex) for box in boxes if box != clutch.box] if len(boxes) > 1 else []
    keys.update(key for _, key in others)
    return others


def _chances(span: Span, axis: TimeAxis) -> Iterator[tuple[date, float]]:
    """Chance by day of a date, by straight lines through its five quantiles."""
    upto = by_day(span, axis.start - timedelta(days=1), axis.days + 2).tolist()
    for n, (before, now) in enumerate(pairwise(upto)):
        yield axis.start + timedelta(days=n), now - before


def _room(found: Eggs, on: date) -> dict[str, Any] | None:
    """Places wanted and the chance of running out; `None` when no clutch is to be thought of."""
    worst = found.worst
    if worst is None:
        return None
    most = max(found.days, key=lambda d: d.q50)
    shown = _until_quiet(found.days)
    return {
        "places": found.places,
        "most": most,
        "worst": worst if worst.p_short >= WORTH_SAYING else None,
        "percent": f"{100 * worst.p_short:.0f}",
        "picture": incubation.places(shown, found.places, on),
        "table": shown[::7],
    }


def _until_quiet(days: Sequence[PlacesDay]) -> Sequence[PlacesDay]:
    """The days up to the last on which a place may be wanted."""
    last = max((i for i, d in enumerate(days) if d.q95), default=0)
    return days[: max(30, last + 2)]


def _box(source: Source, box: Incubator, on: date) -> dict[str, Any]:
    """One incubator's temperatures of late, in the unit of the house."""
    log = History(source.colony.of_animal(box.tag), on).all(Kind.TEMPERATURE, on - timedelta(days=LOG_DAYS))
    settings = source.settings
    readings = [(e.on, from_celsius(e.value, settings)) for e in log if e.value is not None]
    target = from_celsius(box.target_c, settings)
    unit = "°F" if settings.fahrenheit else "°C"
    return {
        "tag": box.tag,
        "places": box.places,
        "target": settings.warmth(box.target_c),
        "picture": incubation.warmth(readings, target, unit, on) if readings else "",
        "table": [(d, number(f"{t:.1f}")) for d, t in reversed(readings)][:LATEST_READINGS],
        "unit": unit,
    }
