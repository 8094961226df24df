"""Long reasons told apart: the first clause on a phone, the rest behind the disclosure, cautions never."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from eggtooth.engine.rounds import Task, Todo
from eggtooth.web.clauses import SHORT, told_apart
from tests.house import bred, page

__all__ = ["bred"]
SIGNS = "look for off food, glow, cool seeking, and the swelling that lasts a day (common practice)"
MEAL = "medium rat, about 120 g each, two or three, as many as she takes"


def line(why: str, todo: Todo = Todo.FEED) -> Task:
    return Task(todo, "F1", "", None, why, ())


@pytest.mark.parametrize(
    ("todo", "why", "first"),
    [
        (Todo.FEED, f"{MEAL}: ate 6 days ago; female in season: every 5 days (common practice)", MEAL),
        (
            Todo.WATCH,
            f"glow on 23 Jan; ovulation about 30 Jan; {SIGNS}",
            "glow on 23 Jan; ovulation about 30 Jan",
        ),
        (
            Todo.MOVE_IN,
            f"no lock noted since 3 Feb, so he moves on; she: {SIGNS}",
            "no lock noted since 3 Feb, so he moves on",
        ),
        (Todo.WEIGH, "weighed 9 days ago; male off food: every 7 days", None),
        (Todo.WATCH, f"{SIGNS}; if nothing comes or she strains, see a reptile vet", None),
        (Todo.HATCH_DUE, f"laid 55 days ago, 4 eggs, none pipped; {SIGNS}; do not cut or turn them", None),
        (Todo.FEED, "a" * 200, None),
    ],
)
def test_what_is_shown_first(todo: Todo, why: str, first: str | None) -> None:
    assert told_apart(line(why, todo), why)[0] == (first or why)


def test_a_caution_stays_whatever_the_language() -> None:
    why = f"{SIGNS}; sonst zum Reptilientierarzt"
    assert told_apart(line(f"{SIGNS}; else see a reptile vet"), why) == (why, "")


@given(st.text(alphabet="ab;: ", max_size=200))
def test_nothing_is_lost(why: str) -> None:
    first, rest = told_apart(line(why), why)
    assert first + rest == why and (first or not why)
    assert not rest or (rest[0] in ";:" and len(why) > SHORT)


def test_the_rest_stands_in_the_same_disclosure(bred: None) -> None:
    told = re.findall(
        r'<summary>([^<]+)<span class="more">([^<]+)</span></summary><ul class="behind">',
        page("/?on=2026-02-14"),
    )
    assert any("as many as she takes" in first for first, rest in told)
