"""The plan is the best there is: against trying everything, assignment, a second solver, and greedy."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from eggtooth.engine.planning import solving
from eggtooth.engine.planning.improving import greedy
from eggtooth.engine.planning.plan_rules import Choice, broken, value_of
from eggtooth.engine.planning.solving import solve
from eggtooth.engine.planning.spares import saves, spares
from eggtooth.engine.planning.stakes import Goal, Stakes
from tests.oracles import plans

CASES = json.loads((Path(__file__).parent / "oracles" / "plans_by_cpsat.json").read_text())


def stakes_of(effect: Any, goals: Any, may: Any, room: Any, **more: Any) -> Stakes:
    """A question from plain lists; pairs that may not meet are too closely related."""
    effect, allowed = np.array(effect, dtype=float), np.array(may, dtype=bool)
    return Stakes(
        tuple(f"M{i}" for i in range(effect.shape[1])),
        tuple(f"F{j}" for j in range(effect.shape[2])),
        tuple(Goal(f"wish {w}", weight, count) for w, (weight, count) in enumerate(goals)),
        effect,
        tuple(room),
        np.where(allowed, 0.0, 0.25),
        0.125,
        np.zeros(allowed.shape, dtype=bool),
        **more,
    )


@st.composite
def small(draw: st.DrawFn) -> dict[str, Any]:
    """A question small enough to try everything."""
    males, females, wishes = draw(st.integers(1, 3)), draw(st.integers(1, 5)), draw(st.integers(1, 3))
    number = st.sampled_from([0.0, 0.0, 0.05, 0.3, 0.8, 1.7, 3.1])
    row = st.lists(number, min_size=females, max_size=females)
    table = st.lists(row, min_size=males, max_size=males)
    goal = st.tuples(st.sampled_from([0.5, 1.0, 2.0, 4.0]), st.integers(1, 5))
    return {
        "effect": draw(st.lists(table, min_size=wishes, max_size=wishes)),
        "goals": draw(st.lists(goal, min_size=wishes, max_size=wishes)),
        "may": draw(
            st.lists(
                st.lists(st.booleans(), min_size=females, max_size=females), min_size=males, max_size=males
            )
        ),
        "room": draw(st.lists(st.integers(0, 3), min_size=males, max_size=males)),
        "cost": draw(st.sampled_from([0.0, 0.03])),
    }


@given(small())
@settings(max_examples=60, deadline=None)
def test_no_choice_at_all_is_worth_more(case: dict[str, Any]) -> None:
    stakes = stakes_of(**case)
    found = solve(stakes)
    most = plans.best(**case)
    assert found.value == pytest.approx(most, abs=2e-6 * max(1.0, most))
    assert found.bound >= most - 1e-6
    assert found.value == pytest.approx(
        plans.worth(case["effect"], case["goals"], found.firsts, case["cost"])
    )
    assert (
        found.value >= plans.worth(case["effect"], case["goals"], plans.greedy(**case), case["cost"]) - 1e-6
    )
    choice = Choice(found.firsts, spares(stakes, found.firsts))
    assert broken(stakes, choice) == [] and value_of(stakes, choice) == pytest.approx(found.value)


@given(small())
@settings(max_examples=25, deadline=None)
def test_the_best_with_a_pin_is_the_best_of_all_that_keep_it(case: dict[str, Any]) -> None:
    may, room = np.array(case["may"]), case["room"]
    able = [(int(i), int(j)) for i, j in np.argwhere(may) if room[i] > 0]
    if not able:
        return
    i, j = able[-1]
    stakes = stakes_of(**case, pins=frozenset({(i, j)}))
    found = solve(stakes)
    assert found.firsts[j] == i
    assert found.value == pytest.approx(plans.best(**case, pins={j: i}), abs=5e-6)


@given(small())
@settings(max_examples=25, deadline=None)
def test_greedy_equals_its_plain_twin(case: dict[str, Any]) -> None:
    fast, slow = greedy(stakes_of(**case)), plans.greedy(**case)
    values = [plans.worth(case["effect"], case["goals"], f, case["cost"]) for f in (fast, slow)]
    assert values[0] == pytest.approx(values[1], abs=1e-4)


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{len(c['room'])}x{len(c['may'][0])}")
def test_a_second_solver_finds_no_better_plan(case: dict[str, Any]) -> None:
    # OR-Tools CP-SAT with tables in whole billionths, proven optimal there: tests/oracles/plans_by_cpsat.py.
    effect = np.array(case["tenths"]) / 10
    stakes = stakes_of(
        effect, [tuple(g) for g in case["goals"]], case["may"], case["room"], cost=case["cost"]
    )
    found = solve(stakes)
    assert found.value == pytest.approx(case["best"], abs=1e-6 * case["best"] + 1e-7)
    assert found.bound == pytest.approx(case["best"], rel=2e-6)


@pytest.mark.parametrize("seed", range(3))
def test_one_female_a_male_and_a_wish_each_is_an_assignment(seed: int) -> None:
    # A wish served by one female only is worth what her male does for it: the sum is linear in the pairs.
    rng = np.random.default_rng(seed)
    males, females = 7, 9
    value = rng.uniform(0.1, 3.0, (males, females))
    effect = np.zeros((females, males, females))
    for j in range(females):
        effect[j, :, j] = value[:, j]
    goals = [(1.0 + j % 3, 1) for j in range(females)]
    found = solve(stakes_of(effect, goals, np.ones((males, females)), [1] * males))
    linear = np.array([w for w, _ in goals]) * (1 - np.exp(-value))
    rows, columns = linear_sum_assignment(linear, maximize=True)
    assert found.value == pytest.approx(linear[rows, columns].sum(), rel=1e-6)
    assert found.firsts == {int(j): int(i) for i, j in zip(rows, columns, strict=True)}


def test_the_large_way_agrees_with_the_small_way(monkeypatch: pytest.MonkeyPatch) -> None:
    case = CASES[-1]
    stakes = stakes_of(
        np.array(case["tenths"]) / 10,
        [tuple(g) for g in case["goals"]],
        case["may"],
        case["room"],
        cost=case["cost"],
    )
    monkeypatch.setattr(solving, "FEW", 30)  # as if there were too many pairs to hand over at once
    assert solve(stakes).value == pytest.approx(case["best"], rel=2e-6)


def test_stopped_at_once_it_still_gives_greedy_and_an_honest_bound() -> None:
    case = CASES[-1]
    stakes = stakes_of(
        np.array(case["tenths"]) / 10,
        [tuple(g) for g in case["goals"]],
        case["may"],
        case["room"],
        cost=case["cost"],
    )
    found = solve(stakes, left=lambda: 0.0)
    assert found.value >= stakes.worth(greedy(stakes)) - 1e-9
    assert found.bound >= case["best"] - 1e-6


def test_nothing_to_do_is_an_empty_plan() -> None:
    found = solve(stakes_of(np.zeros((1, 2, 2)), [(1.0, 1)], np.ones((2, 2)), [2, 2]))
    assert found.firsts == {} and found.value == found.bound == 0.0


@given(small())
@settings(max_examples=30, deadline=None)
def test_the_spares_save_the_most_they_can(case: dict[str, Any]) -> None:
    stakes = stakes_of(**{**case, "cost": 0.0})
    firsts = solve(stakes).firsts
    saved = {j: saves(stakes, firsts, j) for j in firsts}
    found = spares(stakes, firsts)
    females = sorted(firsts)
    may = [[bool(saved[j][i] > 0) for j in females] for i in range(len(stakes.males))]
    most = max(
        (sum(saved[females[k]][i] for k, i in c.items()) for c in plans.choices(may, stakes.room)),
        default=0.0,
    )
    assert sum(saved[j][i] for j, i in found.items()) == pytest.approx(most, abs=1e-9)
    assert all(firsts[j] != i for j, i in found.items())
