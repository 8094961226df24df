"""The males' page against the engine's wear of the same store."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from eggtooth.engine.condition.wear import WearState
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.males import males_on
from eggtooth.jobs.wear import males_of
from tests.house import ON, bred, page

__all__ = ["bred"]
pytestmark = pytest.mark.usefixtures("fresh_store")


def row(html: str, tag: str) -> str:
    return next(r for r in html.split('<p class="whose">')[1:] if f"<b>{tag}</b>" in r)


def test_states_dates_and_reasons_are_the_engines(bred: None) -> None:
    told = {m.tag: m.wear for m in males_of(from_store(), ON)}
    html = page("/males")
    assert told["WORN"].state is WearState.REST
    for tag, wear in told.items():
        mine = row(html, tag)
        assert f"<b>{wear.state}</b>" in mine and wear.why[1:].split(";")[0] in mine
        assert wear.rest_by and f"rest by {wear.rest_by[1]:%-d %b} (" in mine


def test_the_worst_comes_first_and_is_marked_by_more_than_colour(bred: None) -> None:
    assert [m.animal.tag for m in males_on(from_store(), ON)] == ["WORN", "ANVIL"]
    html = page("/males")
    assert html.index("<b>WORN</b>") < html.index("<b>ANVIL</b>")
    assert "rest now" in row(html, "WORN")


def test_nights_are_marks_in_their_place(bred: None) -> None:
    mine = row(page("/males"), "ANVIL")
    inside = mine.split('class="in" d="')[1].split('"')[0]
    locked = mine.split('class="lock" d="')[1].split('"')[0]
    assert inside.count("M") == 5 and locked.count("M") == 1


def test_a_young_male_stands_apart(bred: None) -> None:
    from eggtooth.engine.colony import Animal, Sex
    from eggtooth.records import store

    store.save_animals([Animal("YOUNG", Sex.MALE, hatched=ON)])
    html = page("/males")
    assert html.index("Not out this season") < html.index(">YOUNG<")


@pytest.mark.sqlite
def test_few_queries_and_no_males(bred: None) -> None:
    with CaptureQueriesContext(connection) as asked:
        page("/males")
    assert len(asked) == 13


def test_an_empty_room_says_so() -> None:
    assert "No male is in the room" in page("/males")
