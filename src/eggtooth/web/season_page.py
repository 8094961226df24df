"""The season at `/season`: one strip per female, who is next first; every date also as a table."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from eggtooth.engine.cycle.next_scan import NextScan
from eggtooth.engine.entries import Entry
from eggtooth.engine.facts import biology
from eggtooth.engine.house import latest
from eggtooth.engine.spans import Span
from eggtooth.engine.wording import say
from eggtooth.jobs import answered
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.season import MILESTONES, UNLIKELY, Strip
from eggtooth.web.asked import Page, on_a_day
from eggtooth.web.drawn import Keys, drawn
from eggtooth.web.pictures import season
from eggtooth.web.pictures.axis import TimeAxis
from eggtooth.web.speech import said, spoken

NAMES = {
    "off_food": say("off food"),
    "ovulation": say("ovulation"),
    "prelay_shed": say("pre-lay shed"),
    "laid": say("eggs"),
    "pip": say("pips"),
}
PER_PAGE = 30
LONGEST_DAYS = 400
SURE = 0.995
FACTS = (
    biology.PAIRING_FROM,
    biology.SLOW_GROWTH,
    biology.HINGE,
    biology.FAST_GROWTH,
    biology.OVULATION_AT,
    biology.OVULATION_TO_SHED,
    biology.SHED_TO_LAID,
    biology.INCUBATION_AT_31_5,
    biology.INCUBATION_SLOPE,
    biology.REABSORBS_DOMINANT,
    biology.NEVER_STARTS,
    biology.SCAN_ERROR,
)


@dataclass(frozen=True, slots=True)
class Row:
    """One female as the page tells her."""

    tag: str
    name: str
    tub: str
    lays: str
    group: str
    coming: str
    scan: str
    scan_why: str
    picture: SafeString
    dates: tuple[tuple[str, str, Span], ...]
    nights: int
    locks: int
    entries: tuple[Entry, ...]


@require_safe
@on_a_day
def show(request: HttpRequest, on: date) -> HttpResponse:
    """The page; `on` picks the day, `page` the part of a long list."""
    source = from_store()
    page = Page.asked(request, PER_PAGE)
    found = answered.strips(source, on, page.first, PER_PAGE)

    def context(_: Keys) -> dict[str, object]:
        axis = axis_for(found.strips, on, latest(source.settings.season_opens, on))
        return {
            "on": on,
            "rows": [row_of(s, axis) for s in found.strips],
            "females": found.females,
            "page": page.of(found.females),
            "key": key(),
            "days": season.days(axis, on, len(MILESTONES)),
            "months": season.months(axis, on),
            "facts": FACTS,
        }

    main = drawn(request, "season_main.html", found, (on, page), context)
    return render(request, "season.html", {"main": main})


def key() -> list[tuple[SafeString, str]]:
    """The tones with their names, in the order of the lanes."""
    return [(season.sample(tone), said(name)) for tone, name in enumerate(NAMES.values())]


def axis_for(strips: tuple[Strip, ...], on: date, opens: date) -> TimeAxis:
    """From when males first go in, or the first night, to the last pipping that is likely."""
    nights = [s.nights[0].on for s in strips if s.nights]
    seen = [e.on for s in strips for e in s.seen.values()]
    start = min(
        [on - timedelta(days=21), *([opens] if opens > on - timedelta(days=300) else []), *nights, *seen]
    )
    ends = [s.outlook.dates["pip"].q95 for s in strips if s.outlook.p_lays >= UNLIKELY]
    end = max([on + timedelta(days=60), *ends])
    return TimeAxis(start, min(end, start + timedelta(days=LONGEST_DAYS)))


def row_of(strip: Strip, axis: TimeAxis) -> Row:
    """One female's picture and words."""
    told = strip.outlook
    dates = tuple(
        (said(NAMES[n]), spoken("seen") if n in strip.seen else "", told.dates[n]) for n in _told(strip)
    )
    return Row(
        strip.animal.tag,
        strip.animal.name,
        str(strip.tub or ""),
        "" if told.p_lays > SURE else spoken("lays {p:.0f} of 100", p=100 * told.p_lays),
        _group(strip),
        _coming(strip),
        spoken("scan {on:%-d %b}", on=strip.next_scan.on) if strip.next_scan else "",
        scan_said(strip.next_scan),
        season.strip(axis, _marks(strip), [n.on for n in strip.nights], [e.on for e in strip.locks]),
        dates,
        len(strip.nights),
        len({e.on for e in strip.locks}),
        told.entries,
    )


def _group(strip: Strip) -> str:
    if not strip.coming:
        return spoken("Over for this season")
    return spoken("Unlikely to lay this season") if strip.outlook.p_lays < UNLIKELY else ""


def _coming(strip: Strip) -> str:
    if not strip.coming:
        return ""
    told = f"{said(NAMES[strip.coming])} {said(strip.due)}"
    return spoken("if she lays, {told}", told=told) if strip.outlook.p_lays < UNLIKELY else told


def _told(strip: Strip) -> list[str]:
    return [n for n in MILESTONES if n in strip.daily or n in strip.seen]


def _marks(strip: Strip) -> list[season.Mark]:
    """A mark for each milestone, in the order of their lanes; chances weighed by that she lays."""
    lays = strip.outlook.p_lays
    found = []
    for tone, (name, words) in enumerate(NAMES.items()):
        if seen := strip.seen.get(name):
            found.append(
                season.Mark(
                    tone,
                    spoken("{what}, seen {on:%-d %b}", what=words, on=seen.on),
                    seen=seen.on,
                )
            )
        else:
            daily = strip.daily.get(name)
            chances = [(d, p * lays) for d, p in daily.days()] if daily else []
            found.append(season.Mark(tone, f"{said(words)} {said(strip.outlook.dates[name])}", chances))
    return found


def scan_said(scan: NextScan | None) -> str:
    """The scan that would tell most, in words."""
    if scan is None:
        return ""
    return spoken(
        "a scan on {on:%-d %b} tells most: ±{now:.0f} days of doubt become ±{after:.0f}",
        on=scan.on,
        now=scan.sd_now_days,
        after=scan.sd_after_days,
    )
