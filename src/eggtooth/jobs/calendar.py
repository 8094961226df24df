"""Due dates as a calendar feed (iCalendar, RFC 5545): each on its likeliest day, the spread in its text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from icalendar import Calendar, Event, vDuration

from eggtooth.engine.house import MonthDay, Settings
from eggtooth.engine.planning.clutches import clutches_on
from eggtooth.engine.spans import Span
from eggtooth.jobs.forecast import Female, forecast_on
from eggtooth.jobs.gather import Source
from eggtooth.jobs.wear import males_of

LIKELY = 0.5
"""Females that more likely lay than not are in the calendar; the rest would fill it with what never comes."""

SAID = {
    "off_food": "may go off food",
    "ovulation": "ovulation",
    "prelay_shed": "pre-lay shed",
    "laid": "eggs",
}


@dataclass(frozen=True, slots=True)
class Due:
    """One date: its id (the same as long as it is the same thing), the day, the title and the text."""

    key: str
    on: date
    title: str
    text: str


def feed(source: Source, on: date) -> bytes:
    """The feed as known on a day. Same records, same bytes."""
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
        event.add("summary", due.title)
        event.add("description", due.text)
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
            text = f"{_spread(span)} The chance that she lays this season is {told.p_lays:.0%}."
            yield Due(f"{female.tag}-{name}-{year}", max(on, span.q50), f"{female.tag}: {words}", text)
    scan = female.next_scan
    if scan is not None:
        text = (
            f"Of all days this scan tells most: the spread of ovulation goes from "
            f"{scan.sd_now_days:.0f} to {scan.sd_after_days:.0f} days (standard deviation)."
        )
        yield Due(f"{female.tag}-scan-{year}", scan.on, f"{female.tag}: scan", text)


def _clutches(source: Source, on: date) -> Iterator[Due]:
    for clutch in clutches_on(source.colony.as_of(on), on, source.settings):
        if clutch.pip.q95 >= on:
            key = f"{clutch.dam}-pip-{clutch.laid.on.isoformat()}"
            text = f"{_spread(clutch.pip)} {clutch.eggs} eggs; {clutch.why}."
            yield Due(key, max(on, clutch.pip.q50), f"{clutch.dam}: eggs pip", text)


def _males(source: Source, on: date, year: int) -> Iterator[Due]:
    for male in males_of(source, on):
        by = male.wear.rest_by
        if by:
            spread = f"Between {by[0]:%-d %b} and {by[2]:%-d %b} nine times in ten (common practice)."
            text = f"{spread} {male.wear.why}."
            yield Due(f"{male.tag}-rest-{year}", max(on, by[1]), f"{male.tag}: rest him by now", text)


def _nights(settings: Settings, on: date) -> Iterator[Due]:
    words = (
        ("cool", settings.cool_from, "cooler nights begin"),
        ("warm", settings.warm_from, "usual nights again"),
    )
    for key, day, title in words:
        at = _next(day, on)
        text = f"{settings.warmer(settings.night_drop_c)}, a little at a time (common practice)."
        yield Due(f"nights-{key}-{at.year}", at, title[0].upper() + title[1:], text)


def _next(day: MonthDay, on: date) -> date:
    this_year = date(on.year, *day)
    return this_year if this_year >= on else date(on.year + 1, *day)


def _spread(span: Span) -> str:
    half = f"half the time {span.q25:%-d %b} to {span.q75:%-d %b}"
    return f"Between {span.q05:%-d %b} and {span.q95:%-d %b} nine times in ten, {half}."
