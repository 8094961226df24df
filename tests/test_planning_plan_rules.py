"""Every rule of a plan, kept and broken."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from eggtooth.engine.planning import plan_rules
from eggtooth.engine.planning.plan_rules import RULES, Choice, Rule, broken, value_of
from eggtooth.engine.planning.stakes import Goal, Stakes

STAKES = Stakes(
    ("M1", "M2"),
    ("F1", "F2", "F3"),
    (Goal("Clown", 2.0, 1),),
    np.full((1, 2, 3), 0.5),
    (2, 1),
    np.array([[0.0, 0.125, 0.25], [0.0, 0.0, 0.0]]),
    0.125,
    np.array([[False, False, False], [True, False, False]]),
    frozenset({(0, 0)}),
    frozenset({(1, 2)}),
)
KEPT = Choice({0: 0, 1: 0}, {1: 1})


def test_a_plan_that_keeps_all_rules() -> None:
    assert broken(STAKES, KEPT) == []
    assert broken(replace(STAKES, pins=frozenset()), Choice({})) == []


@pytest.mark.parametrize(
    ("rule", "choice", "said"),
    [
        (plan_rules.spare_is_another, Choice({0: 0}, {0: 0}), ["M1 cannot be the spare of F1"]),
        (plan_rules.spare_is_another, Choice({0: 0}, {1: 1}), ["M2 cannot be the spare of F2"]),
        (plan_rules.males_have_room, Choice({0: 0, 1: 0, 2: 0}), ["M1 has 3 females; he may serve 2"]),
        (
            plan_rules.males_have_room,
            Choice({0: 0, 1: 0}, {0: 1, 1: 1}),
            ["M2 has 2 females; he may serve 1"],
        ),
        (plan_rules.nobody_too_close, Choice({0: 0, 2: 0}), ["M1 and F3: their young would be inbred 25.0%"]),
        (plan_rules.no_suffering, Choice({0: 0}, {0: 1}), ["M2 and F1: a caution blocks the pair"]),
        (plan_rules.pins_kept, Choice({0: 1}), ["M1 is pinned to F1 but is not her first"]),
        (plan_rules.bans_kept, Choice({0: 0, 2: 1}), ["M2 is banned from F3"]),
    ],
)
def test_each_rule_broken(rule: Rule, choice: Choice, said: list[str]) -> None:
    assert rule in RULES
    assert rule(STAKES, choice) == said
    assert rule(STAKES, KEPT) == []


def test_the_value_is_added_up_from_the_definition() -> None:
    # 2 (1 - e^-1) for two pairs of one half each, less what two pairs cost.
    dear = replace(STAKES, cost=0.1)
    assert value_of(dear, KEPT) == pytest.approx(2 * (1 - np.exp(-1)) - 0.2)
    assert value_of(dear, KEPT) == pytest.approx(dear.worth(KEPT.firsts))
