"""A short slice of `python -m validation year`: one small house under all three, counted and repeatable."""

from __future__ import annotations

import pytest
from validation.year import WHO, Outcome, held, lived


@pytest.fixture(scope="module")
def found() -> dict[str, Outcome]:
    return {who: lived(7, WHO[who], animals=20) for who in list(WHO)[:3]}


def test_every_year_has_clutches_and_counts_that_fit(found: dict[str, Outcome]) -> None:
    for outcome in found.values():
        assert 0 < outcome.fertile <= outcome.clutches
        assert 0 <= outcome.missed <= outcome.clutches + 3
        assert outcome.nights > 20


def test_no_male_is_lost_under_this_tool(found: dict[str, Outcome]) -> None:
    assert found["this tool"].lost == 0


def test_the_same_house_lives_the_same_year(found: dict[str, Outcome]) -> None:
    assert lived(7, WHO["plain practice"], animals=20) == found["plain practice"]


def test_a_worse_rotation_does_not_hold() -> None:
    good, bad = Outcome(9, 9, 30, 50.0, 0, 300, 0), Outcome(9, 9, 20, 40.0, 0, 300, 0)
    years = range(12)

    def some(base: Outcome, less: int) -> list[Outcome]:
        return [Outcome(9, 9, base.wished - (y + less) % 3, 1.0, 0, 300, 0) for y in years]

    best = some(good, 0)
    assert held({"this tool": some(good, 1), "plain practice": some(bad, 0), "one who knows": best})
    assert not held({"this tool": some(bad, 1), "plain practice": some(good, 0), "one who knows": best})
    lost = [Outcome(9, 9, o.wished, 1.0, 0, 300, 1) for o in some(good, 1)]
    assert not held({"this tool": lost, "plain practice": some(bad, 0), "one who knows": best})
