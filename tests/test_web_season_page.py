"""The season page against the engine's own forecast of the same store."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from eggtooth.jobs.forecast import forecast_on
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.season import strip_of, strips_on
from tests.house import HERE, ON, bred, page

__all__ = ["bred"]
pytestmark = pytest.mark.usefixtures("fresh_store")


def rows(html: str) -> list[str]:
    return html.split('<li><p class="whose">')[1:]


def test_every_female_with_the_dates_the_forecast_tells(bred: None) -> None:
    told = {f.tag: f for f in forecast_on(from_store(), ON)}
    found = {re.search(r"<b>(\w+)</b>", r).group(1): r for r in rows(page("/season"))}  # type: ignore[union-attr]
    assert set(found) == set(told)
    for tag in ("GROWING", "OVULATED"):
        for name in ("laid", "off_food"):
            span = told[tag].outlook.dates[name]
            cells = [f"{d:%-d %b}" for d in (span.q05, span.q25)]
            assert f"<td>{cells[0]}</td><td>{cells[1]}</td><td><b>{span.q50:%-d %b}</b></td>" in found[tag]
    assert f"lays {100 * told['GROWING'].outlook.p_lays:.0f} of 100" in found["GROWING"]
    scan = told["GROWING"].next_scan
    assert scan and f"scan {scan.on:%-d %b}" in found["GROWING"]


def test_smears_hold_the_chance_of_each_day(bred: None) -> None:
    strip = strip_of(from_store(), "GROWING", ON)
    assert strip and strip.coming == "ovulation"
    days = dict(strip.daily["ovulation"].days())
    span = strip.outlook.dates["ovulation"]
    assert sum(p for d, p in days.items() if d <= span.q50) >= 0.5 - 1e-6
    assert sum(p for d, p in days.items() if d < span.q50) < 0.5


def test_who_is_next_comes_first_and_who_is_over_last(bred: None) -> None:
    found = strips_on(from_store(), ON).strips
    due = [s.due.q50 for s in found if s.due and s.due.q50 >= ON and s.outlook.p_lays >= 0.1]
    assert len(due) > 2 and due == sorted(due) and found[0].animal.tag == "OVULATED"
    html = page("/season")
    assert html.index("Over for this season") > html.index("OVULATED")


def test_seen_is_a_dot_and_not_a_smear(bred: None) -> None:
    html = next(r for r in rows(page("/season")) if "OVULATED" in r)
    assert '<circle class="m1"' in html and '<g class="m1">' not in html and '<g class="m2">' in html


def test_nights_and_locks_stand_under_the_strip(bred: None) -> None:
    html = next(r for r in rows(page("/season")) if "<b>GROWING</b>" in r)
    assert "3 nights with a male, locks seen on 1 day" in html
    assert re.search(r'class="in" d="M\d+ 41h3"', html)


def test_a_clutch_long_past_hatching_is_over(bred: None) -> None:
    strip = strip_of(from_store(), "DONE", ON)
    assert strip and not strip.coming and "pip" in strip.seen


@pytest.mark.sqlite
def test_few_queries_whatever_the_number_of_females(bred: None) -> None:
    with CaptureQueriesContext(connection) as asked:
        page("/season")
    assert len(asked) == 13


def test_an_empty_room_and_a_far_page_say_so(fresh_store: Path) -> None:
    assert "No female of breeding size" in page("/season")


@pytest.mark.parametrize("query", ["page=9", "page=-1", "page=x", "page=99999999999", "page=²"])
def test_odd_pages_do_no_harm(bred: None, query: str) -> None:
    page(f"/season?{query}")


def test_a_bad_date_is_refused() -> None:
    answer = Client().get("/season?on=2026-02-30", **HERE)
    assert answer.status_code == 400 and b"is not a date" in answer.content
    assert date(2026, 2, 4) == ON
