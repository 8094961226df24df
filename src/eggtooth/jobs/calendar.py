"""Due dates as a calendar feed (iCalendar, RFC 5545): each on its likeliest day, the spread in its text."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from icalendar import Calendar, Event, vDuration

from eggtooth.engine.house import MonthDay, Settings
from eggtooth.engine.planning.clutches import clutches_on
from eggtooth.engine.spans import Span
from eggtooth.engine.wording import joined, say
from eggtooth.jobs.forecast import Female, forecast_on
from eggtooth.jobs.gather import Source
from eggtooth.jobs.wear import males_of

LIKELY = 0.5
"""Females that more likely lay than not are in the calendar; the rest would fill it with what never comes."""

SAID = {
    "off_food": say("may go off food"),
    "ovulation": say("ovulation"),
    "prelay_shed": say("pre-lay shed"),
    "laid": say("eggs"),
}


@dataclass(frozen=True, slots=True)
class Due:
    """One date: its id (the same as long as it is the same thing), the day, the title and the text."""

    key: str
    on: date
    title: str
    text: str


def feed(source: Source, on: date, speak: Callable[[str], str] = str) -> bytes:
    """The feed as known on a day, its texts as `speak` says them. Same records, same bytes."""
    calendar = Calendar()
    calendar.add("prodid", "-//Eggtooth//Due dates//EN")
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", "Eggtooth")
    often = {"value": "DURATION"}  # RFC 7986, 5.7
    calendar.add("refresh-interval", vDuration(timedelta(hours=6)), parameters=often)
    for due in dues(source, on):
        event = Event()
        event.add("uid", f"{due.key}@eggtooth")
        event.add("dtstamp", datetime.combine(on, time(), UTC))
        event.add("dtstart", due.on)
        event.add("dtend", due.on + timedelta(days=1))
        event.add("summary", speak(due.title))
        event.add("description", speak(due.text))
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def dues(source: Source, on: date) -> list[Due]:
    """Everything that is to come, by day."""
    year = source.settings.season_start(on).year
    found = [
        *(due for female in forecast_on(source, on) for due in _season(female, on, year)),
        *_clutches(source, on),
        *_males(source, on, year),
        *_nights(source.settings, on),
    ]
    return sorted(found, key=lambda d: (d.on, d.key))


def _season(female: Female, on: date, year: int) -> Iterator[Due]:
    told = female.outlook
    if told.p_lays < LIKELY:
        return
    for name, words in SAID.items():
        span = told.dates[name]
        if span.q95 > on and span.q05 != span.q95:
            text = say(
                "{spread} The chance that she lays this season is {p_lays:.0%}.",
                spread=_spread(span),
                p_lays=told.p_lays,
            )
            title = joined(": ", (female.tag, words))
            yield Due(f"{female.tag}-{name}-{year}", max(on, span.q50), title, text)
    scan = female.next_scan
    if scan is not None:
        text = say(
            "Of all days this scan tells most: the spread of ovulation goes from "
            "{now:.0f} to {after:.0f} days (standard deviation).",
            now=scan.sd_now_days,
            after=scan.sd_after_days,
        )
        title = joined(": ", (female.tag, say("scan")))
        yield Due(f"{female.tag}-scan-{year}", scan.on, title, text)


def _clutches(source: Source, on: date) -> Iterator[Due]:
    for clutch in clutches_on(source.colony.as_of(on), on, source.settings):
        if clutch.pip.q95 >= on:
            key = f"{clutch.dam}-pip-{clutch.laid.on.isoformat()}"
            text = say(
                "{spread} {eggs} eggs; {why}.", spread=_spread(clutch.pip), eggs=clutch.eggs, why=clutch.why
            )
            yield Due(key, max(on, clutch.pip.q50), joined(": ", (clutch.dam, say("eggs pip"))), text)


def _males(source: Source, on: date, year: int) -> Iterator[Due]:
    for male in males_of(source, on):
        by = male.wear.rest_by
        if by:
            text = say(
                "Between {low:%-d %b} and {high:%-d %b} nine times in ten (common practice). {why}.",
                low=by[0],
                high=by[2],
                why=male.wear.why,
            )
            title = joined(": ", (male.tag, say("rest him by now")))
            yield Due(f"{male.tag}-rest-{year}", max(on, by[1]), title, text)


def _nights(settings: Settings, on: date) -> Iterator[Due]:
    words = (
        ("cool", settings.cool_from, say("Cooler nights begin")),
        ("warm", settings.warm_from, say("Usual nights again")),
    )
    for key, day, title in words:
        at = _next(day, on)
        text = say(
            "{drop}, a little at a time (common practice).", drop=settings.warmer(settings.night_drop_c)
        )
        yield Due(f"nights-{key}-{at.year}", at, title, text)


def _next(day: MonthDay, on: date) -> date:
    this_year = date(on.year, *day)
    return this_year if this_year >= on else date(on.year + 1, *day)


def _spread(span: Span) -> str:
    return say(
        "Between {q05:%-d %b} and {q95:%-d %b} nine times in ten, "
        "half the time {q25:%-d %b} to {q75:%-d %b}.",
        q05=span.q05,
        q25=span.q25,
        q75=span.q75,
        q95=span.q95,
    )
