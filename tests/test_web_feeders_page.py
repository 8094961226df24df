"""The order of prey on its page against the engine's."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from eggtooth.jobs.feeders import order
from eggtooth.jobs.gather import from_store
from tests.house import ON, bred, page

__all__ = ["bred"]
pytestmark = pytest.mark.usefixtures("fresh_store")


def test_numbers_by_week_and_size_are_the_engines(bred: None) -> None:
    html = page("/feeders?weeks=4")
    needs = order(from_store(), ON, 4)
    assert needs and len({n.week for n in needs}) == 4
    for need in needs:
        part = html.split(f"{need.prey.capitalize()} <span>")[1].split("</svg>")[0]
        assert f">{need.q50} ({need.q95})</text>" in part and f"{need.week:%-d %b}" in part
        assert f"<td>{need.q05} / <b>{need.q50}</b> / {need.q95}</td>" in html


@pytest.mark.parametrize("query", ["weeks=0", "weeks=99999", "weeks=x", ""])
def test_weeks_that_are_not_offered_are_the_usual_six(bred: None, query: str) -> None:
    assert "prey in 6 weeks" in page(f"/feeders?{query}")


@pytest.mark.sqlite
def test_few_queries(bred: None) -> None:
    with CaptureQueriesContext(connection) as asked:
        page("/feeders")
    assert len(asked) == 13


def test_an_empty_room_says_so() -> None:
    assert "Nobody here to feed" in page("/feeders")
