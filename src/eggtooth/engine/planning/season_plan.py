"""The season's plan from what is known of the animals: limits, choice, spares, and the words for each."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from eggtooth.engine.facts.inheritance import Catalogue
from eggtooth.engine.planning.clash import Pair, smallest_clash
from eggtooth.engine.planning.harm import blocked_pairs, said_of
from eggtooth.engine.planning.hopes import Family, Hopes
from eggtooth.engine.planning.outlook import outlooks
from eggtooth.engine.planning.plan import SeasonPlan, Status
from eggtooth.engine.planning.plan_rules import Choice, broken, value_of
from eggtooth.engine.planning.prospects import Prospects
from eggtooth.engine.planning.solving import AIM, Solved, solve, usual_aim
from eggtooth.engine.planning.spares import spares
from eggtooth.engine.planning.stakes import Stakes
from eggtooth.engine.planning.telling import told_pairs, told_unplaced

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

LEAST_PART = 0.05
"""A clutch that adds less than this part of an even share of the wishes (their weights over the number of
females) is not asked of a female (our choice)."""


@dataclass(frozen=True, eq=False)
class Question:
    """All that a plan rests on. `kinship` [male, female] in the order of the prospects; `pins` and `bans` by
    (male, female) tags; `reasons` the keeper's, by caution, for going against it."""

    prospects: Prospects
    hopes: Hopes
    family: Family
    kinship: Floats
    kinship_limit: float
    catalogue: Catalogue
    pins: frozenset[Pair] = frozenset()
    bans: frozenset[Pair] = frozenset()
    reasons: Mapping[str, str] = field(default_factory=dict)


class BrokenPlan(AssertionError):
    """The solver's plan breaks a rule or is not worth what it says: a fault of this program, not of the
    data."""


def season_plan(
    asked: Question, aim: float | None = None, left: Callable[[], float] = lambda: math.inf
) -> SeasonPlan:
    """The plan; with status `clash`, and no pairs, when the pins cannot be kept together.

    Every plan is judged again by `plan_rules`, which know nothing of the solver; `BrokenPlan` if they do not
    agree.
    """
    stakes = stakes_of(asked)
    if said := _clash(asked, stakes):
        return SeasonPlan((), 0.0, 0.0, Status.CLASH, clash=said)
    solved = solve(stakes, usual_aim(stakes) if aim is None else max(aim, AIM), left)
    choice = Choice(solved.firsts, spares(stakes, solved.firsts))
    _judge(stakes, choice, solved)
    proven = solved.bound - solved.value <= AIM * solved.bound
    return SeasonPlan(
        told_pairs(asked, stakes, choice),
        solved.value,
        solved.bound,
        Status.OPTIMAL if proven else Status.BOUNDED,
        told_unplaced(asked, stakes, choice),
        outlooks(asked.prospects, asked.hopes, stakes, choice),
        cost=stakes.cost,
        rooms=tuple(zip(stakes.males, stakes.room, strict=True)),
    )


def stakes_of(asked: Question) -> Stakes:
    """The question as arrays."""
    males, females = asked.prospects.males, asked.prospects.females
    genotypes = asked.family.genotypes
    row = {m.tag: i for i, m in enumerate(males)}
    column = {f.tag: j for j, f in enumerate(females)}
    return Stakes(
        tuple(row),
        tuple(column),
        asked.hopes.goals,
        asked.hopes.effect,
        tuple(m.room for m in males),
        asked.kinship,
        asked.kinship_limit,
        blocked_pairs(
            asked.catalogue,
            [genotypes[m.tag] for m in males],
            [genotypes[f.tag] for f in females],
            asked.reasons,
        ),
        _places(asked.pins, row, column),
        _places(asked.bans, row, column),
        clutch_cost(asked),
    )


def clutch_cost(asked: Question) -> float:
    """What a clutch must add to be asked of a female: a small part of an even share of all wishes."""
    weight = sum(goal.weight for goal in asked.hopes.goals)
    return LEAST_PART * weight / max(1, len(asked.prospects.females))


def _places(
    pairs: Sequence[Pair] | frozenset[Pair], row: Mapping[str, int], column: Mapping[str, int]
) -> frozenset[tuple[int, int]]:
    return frozenset((row[m], column[f]) for m, f in pairs if m in row and f in column)


def _clash(asked: Question, stakes: Stakes) -> tuple[str, ...]:
    harm = {}
    known = asked.family.genotypes
    for male, female in asked.pins:
        if male in known and female in known:
            said = said_of(asked.catalogue, known[male], known[female], asked.reasons)
            harm[male, female] = "; ".join(f"{c.text} ({c.id})" for c in said if c.blocks)
    return smallest_clash(stakes, asked.pins, asked.bans, dict(asked.prospects.out), harm)


def _judge(stakes: Stakes, choice: Choice, solved: Solved) -> None:
    wrong = broken(stakes, choice)
    value = value_of(stakes, choice)
    if abs(value - solved.value) > 1e-7 * max(1.0, abs(value)):
        wrong.append(f"the plan is worth {value}, not {solved.value}")
    if wrong:
        raise BrokenPlan("; ".join(wrong))
