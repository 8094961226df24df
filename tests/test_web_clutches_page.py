"""The clutches' page against the engine's answer on the same store."""

from __future__ import annotations

import re
from uuid import uuid4

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext

from eggtooth.engine.entries import Entry, Kind
from eggtooth.jobs.clutches import eggs_of
from eggtooth.jobs.gather import from_store
from eggtooth.records import store
from tests.house import HERE, ON, bred, page

__all__ = ["bred"]
pytestmark = pytest.mark.usefixtures("fresh_store")


def test_pip_dates_and_hatchlings_are_the_engines(bred: None) -> None:
    found = eggs_of(from_store(), ON)
    assert [c.dam for c in found.clutches] == ["LYING"]
    clutch = found.clutches[0]
    html = page("/clutches")
    cells = [f"{d:%-d %b}" for d in (clutch.pip.q05, clutch.pip.q25, clutch.pip.q50)]
    assert f"<td>{cells[0]}</td><td>{cells[1]}</td><td><b>{cells[2]}</b></td>" in html
    assert f"hatch {clutch.hatch.quantile(0.5)} (" in html and "6 eggs" in html


def test_the_smear_holds_the_whole_chance(bred: None) -> None:
    from eggtooth.web.clutches_page import _axis, _chances

    clutches = eggs_of(from_store(), ON).clutches
    days = list(_chances(clutches[0].pip, _axis(clutches, ON)))
    assert sum(p for _, p in days) == pytest.approx(1, abs=0.02)
    assert sum(p for d, p in days if d <= clutches[0].pip.q50) == pytest.approx(0.5, abs=0.01)


def test_too_few_places_are_said_with_their_chance(bred: None) -> None:
    worst = eggs_of(from_store(), ON).worst
    assert worst and worst.p_short > 0.1
    html = page("/clutches")
    assert f"worst day, {worst.on:%-d %B}: {100 * worst.p_short:.0f} of 100" in html and "fan danger" in html


def test_temperatures_against_the_target(bred: None) -> None:
    html = page("/clutches")
    assert "set to 31.5 °C" in html and html.count('class="seen small"') == 20
    assert f"<th>{ON:%-d %b}</th><td>31.5 °C</td>" in html


def test_fahrenheit_where_the_house_says_so(bred: None) -> None:
    from dataclasses import replace

    store.save_settings(replace(store.settings(), fahrenheit=True), "keeper")
    assert "set to 88.7 °F" in page("/clutches")


def test_a_clutch_that_pips_shows_a_dot(bred: None) -> None:
    key = "00000000-0000-0000-0000-00000000fffe"
    store.add_entries([Entry(key, ON, None, "LYING", Kind.PIPPED, 1, None)])
    html = page("/clutches")
    assert "pipped 4 Feb" in html and not re.search(r'<g class="m4"><title>pips', html)


@pytest.mark.sqlite
def test_few_queries_and_an_empty_room(bred: None) -> None:
    with CaptureQueriesContext(connection) as asked:
        page("/clutches")
    assert len(asked) == 13


def test_an_empty_room_says_so() -> None:
    html = page("/clutches")
    assert "No clutch lies" in html and "none is to come" in html


def eggs_noted(detail: str) -> HttpResponse:
    said = {"key": uuid4().hex, "tag": "LYING", "kind": "eggs", "value": "5", "detail": detail}
    return Client().post("/note/entry", said, **HERE)


@pytest.mark.parametrize(
    ("detail", "told"),
    [
        ("in BXO", "detail: BXO is no incubator here; did you mean BOX?"),
        ("candled, in BXO", "did you mean BOX?"),
        ("in the cellar", "the cellar is no incubator here; incubators here: BOX"),
    ],
)
def test_an_incubator_that_is_none_here_is_refused(bred: None, detail: str, told: str) -> None:
    answer = eggs_noted(detail)
    assert answer.status_code == 400 and told in answer.content.decode()


@pytest.mark.parametrize("detail", ["in box", "candled, in BOX", "two in bad shape", "one lost", ""])
def test_other_words_about_eggs_are_kept(bred: None, detail: str) -> None:
    assert eggs_noted(detail).status_code == 302
