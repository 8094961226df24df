"""The page of who can breed and when, against the engine's readiness of the same store."""

from __future__ import annotations

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.entries import Entry, Kind
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.readiness import who_is_ready
from eggtooth.records import store
from tests.house import ON, bred, page

__all__ = ["bred"]
pytestmark = pytest.mark.usefixtures("fresh_store")


@pytest.fixture
def young(bred: None) -> None:
    """A female of sixteen months and 1,050 g besides."""
    store.save_animals([Animal("YOUNG", Sex.FEMALE, hatched=date(2024, 10, 1))])
    key = "00000000-0000-0000-0000-00000000ffff"
    store.add_entries([Entry(key, date(2026, 2, 1), None, "YOUNG", Kind.WEIGHT, 1050, None)])


def test_chance_now_and_the_spread_of_the_date_are_the_engines(young: None) -> None:
    told = next(r for r in who_is_ready(from_store(), ON) if r.tag == "YOUNG")
    low, mid, _ = told.dates
    assert low and mid and ON < low < mid
    mine = page("/ready").split("<b>YOUNG</b>")[1]
    assert f"{100 * told.p_now:.0f} of 100 now" in mine
    assert f"({low:%-d %b} to" in mine or f"({low:%b %Y} to" in mine
    assert f"{100 * told.p_by:.0f} of 100</td>" in mine and "1050 g" not in mine.split("</summary>")[0]
    assert 'class="doubt"' in mine.split("</svg>")[0]


def test_the_fit_stand_together_first(young: None) -> None:
    html = page("/ready")
    fit = [r.tag for r in who_is_ready(from_store(), ON) if r.sex == "F" and r.dates[2] and r.dates[2] <= ON]
    assert fit and all(html.index(f">{t}</a>") < html.index("Not yet sure") for t in fit)


def test_males_on_request_and_odd_words_mean_females(bred: None) -> None:
    assert ">ANVIL<" in page("/ready?sex=M").replace("<b>ANVIL</b>", ">ANVIL<")
    assert "ANVIL" not in page("/ready?sex=%00x")


@pytest.mark.sqlite
def test_few_queries(bred: None) -> None:
    with CaptureQueriesContext(connection) as asked:
        page("/ready")
    assert len(asked) == 13


def test_an_empty_room_says_so() -> None:
    assert "Nobody here" in page("/ready")
