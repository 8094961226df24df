"""The page of the season that was, against the engine's review."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from eggtooth.engine.entries import Entry, Kind
from eggtooth.jobs.gather import Source, from_store
from eggtooth.jobs.long_work import here, questions
from eggtooth.jobs.long_work.questions import Question
from eggtooth.jobs.review import look_back
from eggtooth.records import store
from tests.house import ON, bred, page

__all__ = ["bred"]
pytestmark = pytest.mark.usefixtures("fresh_store")


def test_shares_inside_are_counted_as_the_engine_counts(bred: None) -> None:
    found = look_back(from_store(), ON, True)
    assert found.told
    html = page("/review?season=this")
    near = [t for t in found.tallies if t.what is Kind.OVULATION and t.weeks_ahead < 4]
    n = sum(t.n for t in near)
    share = round(100 * sum(t.in_90 for t in near) / n)
    assert f"<th>ovulation</th><td>0 to 3</td><td>{n}</td>" in html
    assert f"<td>{share}</td>" in html.split("<td>0 to 3</td>")[1].split("</tr>")[0]


def test_said_chances_stand_against_what_came(bred: None) -> None:
    told = [t for t in look_back(from_store(), ON, True).told if t.what is Kind.OVULATION]
    came = round(100 * sum(t.happened.on <= t.span.q50 for t in told) / len(told))
    row = page("/review?season=this").split("<th>ovulation</th>")[1].split("</tr>")[0]
    assert row.split("<td>")[3].split("<")[0] == str(came)


def test_nothing_to_hold_against_is_said(bred: None) -> None:
    assert "Nothing was seen" in page("/review")


@pytest.fixture
def worked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What long work was done, each time it was."""
    done: list[str] = []

    def counted(question: Question, source: Source, seconds: float) -> object:
        done.append(question.kind)
        return questions.worked_out(question, source, seconds)

    here.forget()
    monkeypatch.setattr(here, "worked_out", counted)
    return done


def meal(key: int, on: date) -> None:
    store.add_entries([Entry(f"{key:032x}", on, None, "OVULATED", Kind.MEAL, 1, None)])


def test_the_review_is_kept_until_something_of_its_season_is_noted(bred: None, worked: list[str]) -> None:
    page("/review?season=this"), page("/review?season=this")
    assert len(worked) == 1
    meal(0xFFFD, ON)
    page("/review?season=this")
    assert len(worked) == 2


def test_a_note_of_today_leaves_the_last_season_as_it_was(bred: None, worked: list[str]) -> None:
    page("/review")
    meal(0xFFFD, ON)
    page("/review")
    assert len(worked) == 1
    meal(0xFFFE, from_store().settings.season_start(ON) - timedelta(days=1))
    page("/review")
    assert len(worked) == 2


def test_a_large_house_is_asked_first(bred: None, worked: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(here, "AT_ONCE_ANIMALS", 2)
    asked = page("/review?season=this")
    assert worked == [] and "when you ask for it" in asked and "<th>ovulation</th>" not in asked
    found = page("/review?season=this&work=out")
    assert worked == ["review"] and "<th>ovulation</th>" in found and 'id="work"' not in found
    meal(0xFFFD, ON)
    earlier = page("/review?season=this")
    assert len(worked) == 1 and "<th>ovulation</th>" in earlier
    assert "since then something was noted" in earlier and "Work it out anew" in earlier
    assert '<input type="hidden" name="season" value="this">' in earlier


@pytest.mark.sqlite
def test_few_queries(bred: None) -> None:
    with CaptureQueriesContext(connection) as asked:
        page("/review")
    assert len(asked) == 13
