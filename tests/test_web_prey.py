"""Meals noted by a tap carry the prey the round says is due, and it can be changed."""

from __future__ import annotations

import re
from uuid import uuid4

import pytest
from django.test import Client

from eggtooth.engine.condition.intake import prey_typical_g
from eggtooth.engine.condition.meals import Diet, prey_for, prey_grams
from eggtooth.engine.condition.weights import Mass
from eggtooth.engine.entries import Entry, Kind, Prey
from eggtooth.engine.rounds import Task, Todo
from eggtooth.records import store
from eggtooth.web.prey import SIZES, choices
from tests.house import HERE, ON, bred, page

__all__ = ["bred"]


def offered(html: str, tag: str) -> list[str]:
    found = re.search(rf'<select name="prey-{tag}".*?</select>', html)
    assert found, f"no prey for {tag}"
    return re.findall(r'<option value="([^"]*)"', found[0])


def kept(tag: str) -> Entry:
    return next(e for e in store.entries_on(ON) if e.tag == tag and e.kind is Kind.MEAL)


def meal(size: str, *last: str) -> Task:
    behind = tuple(Entry(str(uuid4()), ON, None, "F1", Kind.MEAL, 1, Prey(t), "") for t in last)
    return Task(Todo.FEED, "F1", "", None, "", behind, prey=size)


def test_what_is_due_comes_first_and_nothing_is_offered_twice() -> None:
    sizes = ("medium rat", "weaned rat", "small rat", "large rat", "jumbo rat")
    assert choices(meal("medium rat", "small rat")) == (*sizes, "")
    assert choices(meal("medium rat", "guinea pig 200g")) == (*sizes, "guinea pig 200g", "")
    assert choices(meal("", "jumbo mouse")) == ("", "jumbo mouse")
    assert choices(meal("jumbo rat")) == ("jumbo rat", "medium rat", "large rat", "")


@pytest.mark.parametrize("diet", Diet)
@pytest.mark.parametrize("mass_g", [60, 90, 160, 250, 400, 700, 1200, 1900, 3500])
def test_a_word_noted_stands_for_the_grams_the_round_had_in_mind(diet: Diet, mass_g: float) -> None:
    """Within the width of a trade size, from the mass they hatch at: else young animals would seem to eat
    half of what they do.
    """
    name = prey_for(diet, Mass(mass_g, ON, ()))
    grams = prey_typical_g(name)
    assert name in SIZES and grams is not None
    assert 1 / 1.7 <= grams / prey_grams(diet, mass_g) <= 1.7


def test_without_a_weight_no_prey_is_assumed() -> None:
    assert prey_for(Diet.ADULT, None) == ""


def test_a_tap_notes_the_prey_and_only_that_of_its_line(bred: None, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as later:
        later.setenv("EGGTOOTH_TODAY", "2026-02-12")
        due = offered(page("/"), "RESTING")[0]
    assert due in SIZES
    sent = {"tap": f"{uuid4().hex}|ate2|RESTING|", "prey-RESTING": due, "prey-GROWING": "large rat"}
    assert Client().post("/note", sent, **HERE).status_code == 302
    assert (kept("RESTING").value, kept("RESTING").detail) == (2, Prey(due))


@pytest.mark.parametrize(
    ("typed", "detail"), [("", None), ("weaned rat", Prey("weaned rat")), ("rat 90g", Prey("rat", 90))]
)
def test_it_can_be_changed(bred: None, typed: str, detail: Prey | None) -> None:
    sent = {"tap": f"{uuid4().hex}|refused|RESTING|", "prey-RESTING": typed}
    assert Client().post("/note", sent, **HERE).status_code == 302
    assert (kept("RESTING").value, kept("RESTING").detail) == (0, detail)


@pytest.mark.parametrize("typed", ["x" * 501, "rat 9999999g", "rat\0"])
def test_what_a_log_would_refuse_is_refused(bred: None, typed: str) -> None:
    sent = {"tap": f"{uuid4().hex}|ate1|RESTING|", "prey-RESTING": typed}
    assert Client().post("/note", sent, **HERE).status_code == 400
    fed = {"ate-RESTING": "1", "key-RESTING": uuid4().hex, "prey-RESTING": typed}
    assert Client().post("/feeding", fed, **HERE).status_code == 400
    assert not [e for e in store.entries_on(ON) if e.kind is Kind.MEAL]


def test_the_feeding_page_notes_it_too(bred: None) -> None:
    html = page("/feeding?on=2026-02-12")
    fed = {"ate-RESTING": "1", "key-RESTING": uuid4().hex, "prey-RESTING": offered(html, "RESTING")[0]}
    assert Client().post("/feeding", fed, **HERE).status_code == 302
    assert kept("RESTING").detail == Prey(offered(html, "RESTING")[0])
