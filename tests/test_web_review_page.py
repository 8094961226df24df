"""The page of the season that was, against the engine's review."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from eggtooth.engine.entries import Entry, Kind
from eggtooth.jobs import looked_back
from eggtooth.jobs.gather import from_store
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


@pytest.mark.sqlite
def test_the_review_is_kept_until_something_is_noted(bred: None, monkeypatch: pytest.MonkeyPatch) -> None:
    worked: list[object] = []

    def counted(*asked: object) -> object:
        worked.append(asked)
        return look_back(*asked)  # type: ignore[arg-type]

    looked_back._reviews.known.clear()
    monkeypatch.setattr(looked_back, "look_back", counted)
    page("/review?season=this"), page("/review?season=this")
    assert len(worked) == 1
    key = "00000000-0000-0000-0000-00000000fffd"
    store.add_entries([Entry(key, ON, None, "OVULATED", Kind.SCAN, 0, None)])
    page("/review?season=this")
    assert len(worked) == 2


@pytest.mark.sqlite
def test_few_queries(bred: None) -> None:
    with CaptureQueriesContext(connection) as asked:
        page("/review")
    assert len(asked) == 13
