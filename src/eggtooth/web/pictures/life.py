"""An animal's meals as small marks, and its whole life as one line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from django.utils.formats import date_format
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from eggtooth.engine.entries import Entry
from eggtooth.jobs.body import Body
from eggtooth.web.days import day_month
from eggtooth.web.pictures.axis import TimeAxis, labels, lines
from eggtooth.web.speech import spoken, spoken_n

MEAL_WEEKS = 26


def meals(given: Sequence[Entry], sheds: Sequence[Entry], on: date) -> SafeString:
    """Half a year of meals as small marks, taken full and refused empty, sheds as strokes under them."""
    axis = TimeAxis(on - timedelta(weeks=MEAL_WEEKS), on)
    marks = format_html_join("", "{}", ((_meal(axis, e),) for e in given if axis.holds(e.on)))
    strokes = format_html_join(
        "",
        '<rect class="shed" x="{}%" y="22" width="3" height="8"><title>shed {}</title></rect>',
        ((axis.at(e.on), day_month(e.on)) for e in sheds if axis.holds(e.on)),
    )
    return format_html(
        '<svg class="meals" height="48" role="img" aria-label="{}">{}{}{}{}</svg>',
        spoken("meals and sheds of the last half year"),
        lines(axis, 34),
        marks,
        strokes,
        labels(axis, 46),
    )


def _meal(axis: TimeAxis, entry: Entry) -> SafeString:
    kind = "taken" if entry.value else "refused"
    words = spoken("ate {on:%-d %b}" if entry.value else "refused {on:%-d %b}", on=entry.on)
    mark = '<circle class="{}" cx="{}%" cy="10" r="4"><title>{}</title></circle>'
    return format_html(mark, kind, axis.at(entry.on), words)


def life(body: Body, on: date) -> SafeString:
    """The whole life as one line: hatched, its mass at each turn of the year, seasons as thick stretches,
    clutches as eggs with their number.
    """
    axis = TimeAxis(life_begins(body, on), on)
    seasons = format_html_join(
        "",
        '<rect class="season" x="{}%" width="{}%" y="26" height="6" rx="2"/>',
        ((axis.at(s.first), max(0.8, round(axis.at(s.last) - axis.at(s.first), 2))) for s in body.seasons),
    )
    eggs = format_html_join("", "{}", ((_clutch(axis, e),) for e in body.clutches if axis.holds(e.on)))
    grams = '<text class="grams" x="{}%" dx="2" y="44">{}</text>'
    weights = format_html_join("", grams, ((axis.at(d), g) for d, g in _yearly(body, axis)))
    hatched = SafeString('<circle class="hatched" cx="1%" cy="29" r="4"/>' if body.animal.hatched else "")
    return format_html(
        '<svg class="life" height="62" role="img" aria-label="{}">{}'
        '<line class="course" x2="100%" y1="29" y2="29"/>{}{}{}{}{}</svg>',
        life_said(body),
        lines(axis, 48),
        seasons,
        hatched,
        eggs,
        weights,
        labels(axis, 60),
    )


def life_begins(body: Body, on: date) -> date:
    """The hatch date, else the first thing noted; at least a month back."""
    noted = [e.on for e, _ in body.curve.weighings] + [e.on for e in body.clutches]
    first = body.animal.hatched or min(noted, default=on)
    return min(first, on - timedelta(days=30))


def life_said(body: Body) -> str:
    """The same in words."""
    hatched = (
        spoken("hatched {month}", month=date_format(body.animal.hatched, "F Y"))
        if body.animal.hatched
        else spoken("hatch date not noted")
    )
    laid = [
        spoken("{month} {eggs:g} eggs", month=date_format(e.on, "F Y"), eggs=e.value or 0)
        for e in body.clutches
    ]
    return "; ".join([hatched, spoken_n("{n} season", "{n} seasons", n=len(body.seasons)), *laid])


def _clutch(axis: TimeAxis, laid: Entry) -> SafeString:
    at, eggs = axis.at(laid.on), f"{laid.value or 0:g}"
    return format_html(
        '<g class="egg"><title>{}</title><ellipse cx="{}%" cy="13" rx="9" ry="11"/>'
        '<text x="{}%" y="17">{}</text></g>',
        spoken("laid {on}, {eggs} good eggs", on=laid.on, eggs=eggs),
        at,
        at,
        eggs,
    )


def _yearly(body: Body, axis: TimeAxis) -> Iterator[tuple[date, str]]:
    """The mass last known at each written turn of a year, not older than four months."""
    for on, _ in axis.ticks():
        known = [p for p in body.curve.past if 0 <= (on - p[0]).days <= 120]
        if known and on.month == 1 and axis.at(on) < 92:
            yield on, f"{known[-1][2]:.0f} g"
