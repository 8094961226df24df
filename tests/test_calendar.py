"""The calendar feed, read back by a library of the registries (icalendar, RFC 5545)."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.test import Client
from icalendar import Calendar

from eggtooth.engine.house import Settings
from eggtooth.jobs.calendar import LIKELY, dues, feed
from eggtooth.jobs.forecast import forecast_on
from eggtooth.jobs.gather import Source
from eggtooth.jobs.invent import invent
from eggtooth.records import people
from tests.shots import ON
from tests.test_web_round_page import HERE


@pytest.fixture(scope="module")
def house() -> Source:
    return Source(invent(1, ON), Settings())


def test_every_date_to_come_is_one_event_with_its_spread(house: Source) -> None:
    events = Calendar.from_ical(feed(house, ON)).walk("VEVENT")
    found = {str(e["UID"]): e for e in events}
    assert len(found) == len(events) > 50
    for female in forecast_on(house, ON):
        span, key = female.outlook.dates["laid"], f"{female.tag}-laid-2025@eggtooth"
        to_come = female.outlook.p_lays >= LIKELY and span.q95 > ON and span.q05 != span.q95
        assert (key in found) == to_come
        if to_come:
            event = found[key]
            assert event.decoded("DTSTART") == max(ON, span.q50)
            assert event.decoded("DTEND") - event.decoded("DTSTART") == timedelta(days=1)
            assert (
                f"{span.q05:%-d %b}" in event["DESCRIPTION"] and f"{span.q95:%-d %b}" in event["DESCRIPTION"]
            )


def test_the_feed_is_as_the_standard_wants(house: Source) -> None:
    """RFC 5545, 3.1 and 3.6: lines of at most 75 octets ended by CRLF, PRODID, VERSION, a DTSTAMP each."""
    data = feed(house, ON)
    lines = data.split(b"\r\n")
    assert all(len(line) <= 75 for line in lines) and b"\n" not in data.replace(b"\r\n", b"")
    calendar = Calendar.from_ical(data)
    assert calendar["VERSION"] == "2.0" and calendar["PRODID"]
    assert all("DTSTAMP" in e for e in calendar.walk("VEVENT"))


def test_the_same_records_give_the_same_bytes_and_a_day_later_the_same_ids(house: Source) -> None:
    assert feed(house, ON) == feed(house, ON)
    today, tomorrow = ({d.key for d in dues(house, on)} for on in (ON, ON + timedelta(days=1)))
    assert len(today & tomorrow) > 0.9 * len(today)


def test_nights_turn_with_the_settings() -> None:
    source = Source(invent(1, ON), Settings(warm_from=(3, 7)))
    assert any(d.on == date(2026, 3, 7) and "Usual nights" in d.title for d in dues(source, ON))


def test_a_secret_address_opens_the_feed_until_it_is_renewed(
    fresh_store: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    people.add("Ada", people.Role.READER, "a long enough pass phrase")
    monkeypatch.setenv("EGGTOOTH_SIGN_IN", "1")
    secret = people.make_secret("Ada", people.Purpose.CALENDAR)
    answer = Client().get(f"/calendar/{secret}.ics", **HERE)
    assert answer.status_code == 200 and answer["Content-Type"].startswith("text/calendar")
    people.make_secret("Ada", people.Purpose.CALENDAR)
    assert Client().get(f"/calendar/{secret}.ics", **HERE)["Location"] == "/sign-in"
