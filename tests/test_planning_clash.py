"""Pins that cannot be kept: found exactly when no choice keeps them, and named by the fewest that clash."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eggtooth.engine.planning.clash import smallest_clash
from eggtooth.engine.planning.stakes import Goal, Stakes
from tests.oracles import plans

MALES, FEMALES = ("M1", "M2"), ("F1", "F2", "F3")


def stakes_of(may: Any, room: tuple[int, ...], harm: Any = None) -> Stakes:
    """Two males and three females; pairs that may not meet are full brother and sister."""
    kin = np.where(np.array(may, dtype=bool), 0.0, 0.25)
    harmful = np.zeros((2, 3), dtype=bool) if harm is None else np.array(harm, dtype=bool)
    return Stakes(MALES, FEMALES, (Goal("Clown", 1.0, 1),), np.ones((1, 2, 3)), room, kin, 0.125, harmful)


PAIRS = list(itertools.product(MALES, FEMALES))
two_by_three = st.lists(st.lists(st.booleans(), min_size=3, max_size=3), min_size=2, max_size=2)


@given(two_by_three, st.tuples(st.integers(0, 3), st.integers(0, 3)), st.sets(st.sampled_from(PAIRS)))
@settings(max_examples=150, deadline=None)
def test_a_clash_is_found_exactly_when_no_choice_keeps_the_pins(
    may: list[list[bool]], room: tuple[int, int], pins: set[tuple[str, str]]
) -> None:
    def can_be(kept: tuple[tuple[str, str], ...]) -> bool:
        wanted = {(FEMALES.index(f), MALES.index(m)) for m, f in kept}
        return any(wanted <= set(c.items()) for c in plans.choices(may, room))

    found = smallest_clash(stakes_of(may, room), pins, (), {}, {})
    clashing = [
        kept
        for n in range(len(pins) + 1)
        for kept in itertools.combinations(sorted(pins), n)
        if not can_be(kept)
    ]
    assert bool(found) == bool(clashing)
    if found:
        named = [said for said in found if "pinned" in said]
        assert len(named) == len(clashing[0])  # the first is a smallest one


@pytest.mark.parametrize(
    ("pins", "bans", "out", "said"),
    [
        ([("M1", "F1"), ("M2", "F1")], [], {},
         ("M1 pinned to F1", "M2 pinned to F1", "F1 can have one first male")),
        ([("M1", "F1")], [("M1", "F1")], {}, ("M1 pinned to F1", "M1 is banned from F1")),
        ([("M1", "F2")], [], {"F2": "has laid this season"},
         ("M1 pinned to F2 cannot be: F2 takes no part (has laid this season)",)),
        ([("M1", "F3")], [], {},
         ("M1 pinned to F3 cannot be: their young would be inbred 25.0%; the house allows 12.5%",)),
        ([("M2", "F3")], [], {}, ("M2 pinned to F3 cannot be: their young would wobble",)),
        ([("M2", "F1"), ("M2", "F2")], [], {},
         ("M2 pinned to F1", "M2 pinned to F2", "M2 may serve 1 female")),
        ([("M9", "F1")], [], {}, ("M9 pinned to F1 cannot be: M9 is not a male in the room",)),
        ([("M1", "F1"), ("M1", "F2")], [("M2", "F1")], {}, ()),
    ],
)  # fmt: skip
def test_a_clash_in_words(pins: Any, bans: Any, out: dict[str, str], said: tuple[str, ...]) -> None:
    may, harm = [[1, 1, 0], [1, 1, 1]], [[0, 0, 0], [0, 0, 1]]
    stakes = stakes_of(may, (2, 1), harm)
    assert smallest_clash(stakes, pins, bans, out, {("M2", "F3"): "their young would wobble"}) == said
