"""Who can breed and when, at `/ready`: the chance now and the spread of the date, both sexes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from eggtooth.engine.colony import Sex
from eggtooth.engine.condition.fitness import Ready, last_useful_day
from eggtooth.engine.entries import Entry
from eggtooth.engine.facts import biology
from eggtooth.engine.wording import say
from eggtooth.jobs import answered
from eggtooth.jobs.gather import Source, from_store
from eggtooth.web.asked import Page, on_a_day
from eggtooth.web.days import day_month
from eggtooth.web.drawn import Keys, drawn
from eggtooth.web.pictures import bars, season
from eggtooth.web.pictures.axis import TimeAxis
from eggtooth.web.speech import said, spoken

PER_PAGE, YEARS = 30, 3
FIT_PER_PAGE = 150
SURE = 0.9
"""From this chance on an animal stands among the fit (our choice)."""
SEXES = {"F": say("Females"), "M": say("Males")}
FACTS = (
    biology.FEMALE_READY_HALF,
    biology.FEMALE_READY_MOST,
    biology.FEMALE_AGE_FLOOR,
    biology.BACK_TO_MASS,
    biology.MALE_READY_HALF,
    biology.MALE_READY_MOST,
    biology.MALE_AGE_FLOOR,
    biology.GROWTH_EFFICIENCY,
    biology.FASTS_PER_YEAR,
)


@dataclass(frozen=True, slots=True)
class Row:
    """One animal as the page tells it."""

    tag: str
    name: str
    tub: str
    now: int
    by: int
    since: str
    picture: SafeString
    why: str
    entries: tuple[Entry, ...]


@require_safe
@on_a_day
def show(request: HttpRequest, on: date) -> HttpResponse:
    """The page; `sex` picks males or females, `on` the day, `page` the part of a long list."""
    source = from_store()
    everyone = answered.ready(source, on)
    sex = request.GET.get("sex", "")
    sex = sex if sex in SEXES else Sex.FEMALE.value
    page = Page.asked(request, PER_PAGE)

    def context(_: Keys) -> dict[str, object]:
        return _context(source, everyone, sex, page, on)

    main = drawn(request, "ready_main.html", everyone, (on, sex, page), context)
    return render(request, "ready.html", {"main": main})


def _context(source: Source, everyone: Sequence[Ready], sex: str, page: Page, on: date) -> dict[str, object]:
    mine = [r for r in everyone if r.sex == sex]
    fit = [r for r in mine if fit_now(r, on)]
    coming = sorted((r for r in mine if not fit_now(r, on)), key=_soonest)
    page = page.of(max(len(coming), -(-len(fit) // FIT_PER_PAGE) * PER_PAGE))
    fit_from = (page.number - 1) * FIT_PER_PAGE
    axis = TimeAxis(on, _last(coming, on))
    shown = coming[page.first : page.first + PER_PAGE]
    names = {r.tag: _name(source, r.tag, on) for r in shown}
    return {
        "on": on,
        "rows": [_row(r, names[r.tag], axis, on) for r in shown],
        "fit": fit[fit_from : fit_from + FIT_PER_PAGE],
        "fit_all": len(fit),
        "sexes": [
            (s, said(words), sum(r.sex == s for r in everyone), s == sex) for s, words in SEXES.items()
        ],
        "summary": _summary(mine),
        "by": last_useful_day(source.settings, on),
        "page": page,
        "page_more": f"&sex={sex}",
        "months": season.months(axis, on),
        "facts": FACTS,
    }


def _name(source: Source, tag: str, on: date) -> tuple[str, str]:
    """An animal's name and tub in words."""
    return source.colony.animals[tag].name, str(source.colony.tub_of(tag, on) or "")


def fit_now(ready: Ready, on: date) -> bool:
    """Whether it is as good as surely fit already."""
    return ready.p_now >= SURE or bool(ready.dates[2] and ready.dates[2] <= on)


def _last(coming: Sequence[Ready], on: date) -> date:
    """As far ahead as any spread reaches, one to `YEARS` years."""
    ends = [r.dates[2] or r.dates[1] or on for r in coming]
    farthest = on + timedelta(days=round(365.25 * YEARS))
    return min(farthest, max([on + timedelta(days=365), *ends]))


def _soonest(ready: Ready) -> tuple[date, float, str]:
    """By the middle date, then by the chance now."""
    return ready.dates[1] or date.max, -ready.p_now, ready.tag


def _summary(found: Sequence[Ready]) -> tuple[int, int]:
    """Expected number fit now and by this season's last useful day."""
    return round(sum(r.p_now for r in found)), round(sum(r.p_by for r in found))


def _row(ready: Ready, called: tuple[str, str], axis: TimeAxis, on: date) -> Row:
    return Row(
        ready.tag,
        *called,
        round(100 * ready.p_now),
        round(100 * ready.p_by),
        since_said(ready, on),
        bars.ready(axis, ready.p_now, ready.dates),
        ready.why,
        ready.entries,
    )


def since_said(ready: Ready, on: date) -> str:
    """The middle date with its span, in words."""
    low, mid, high = ready.dates
    if low is None:
        return spoken("not within five years")
    if mid and mid <= on:
        return spoken(
            "most likely fit now, with 95 of 100 by {when}"
            if high
            else "most likely fit now, with 95 of 100 {when}",
            when=_when(high, on),
        )
    return spoken(
        "fit from {mid} ({low} to {high})",
        mid=_when(mid, on),
        low=_when(low, on),
        high=_when(high, on),
    )


def _when(day: date | None, on: date) -> str:
    if day is None:
        return spoken("beyond five years")
    return (
        spoken("now") if day <= on else day_month(day) if (day - on).days < 300 else date_format(day, "M Y")
    )
