"""Each route played out by chance agrees with its exact chance, on stocks that try every part of a route."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from scipy.stats import binom

from eggtooth.engine.colony import Sex
from eggtooth.engine.planning.generations.front import Way
from eggtooth.engine.planning.generations.goal import Wanted
from eggtooth.engine.planning.generations.replay import replay
from eggtooth.engine.planning.generations.search import Task
from eggtooth.engine.planning.generations.structure import Kept, Route, Step
from tests.route_cases import searched, task

LIVES = 2000

CASES = {
    "possible hets, one male twice": (
        "Clown", {"M": "66% het Clown"}, {"F": "50% het Clown", "G": "66% het Clown"}, 3, 0.25, 2, 1,
    ),
    "sisters and several wanted": ("Clown Piebald", {"M": "Clown"}, {"F": "Piebald"}, 4, 0.25, 2, 2),
    "complex": ("Lesser Mojave", {"M": "Lesser Butter"}, {"F": "Mojave", "G": "Normal"}, 3, 0.125, 2, 1),
    "sex-linked": ("Banana Clown female", {"M": "Banana"}, {"F": "Clown", "G": "het Clown"}, 3, 0.125, 2, 1),
}  # fmt: skip


@cache
def found(name: str) -> tuple[Task, list[Way]]:
    """The search of a case and its front."""
    wish, males, females, seasons, limit, beside, count = CASES[name]
    asked = task(wish, males, females, seasons, limit=limit, side_by_side=beside, count=count, in_full=0)
    return asked, searched(asked).front.ordered()


@pytest.mark.parametrize("name", CASES)
def test_replayed_chance(name: str) -> None:
    """Inside the 99.9 % interval, so that twenty routes together seldom fail by chance."""
    asked, ways = found(name)
    assert ways
    rng = np.random.default_rng(7)
    for way in [ways[0], ways[len(ways) // 2], ways[-1]]:
        hits = round(LIVES * replay(way.route, asked.choices.heredity, asked.chances.hatchlings, LIVES, rng))
        assert binom.ppf(0.0005, LIVES, way.p) <= hits <= binom.ppf(0.9995, LIVES, way.p)


@pytest.mark.parametrize("name", CASES)
def test_young_are_chosen_by_what_a_keeper_sees(name: str) -> None:
    """No step keeps one of two kinds of young that look alike."""
    asked, ways = found(name)
    for way in ways:
        for step in way.route.steps()[:-1]:
            for seeks in step.seeks:
                for place, kind in enumerate(seeks.kinds):
                    locus = asked.choices.heredity.loci[place]
                    made = asked.choices.made(place, step.male, step.females, seeks.sex)
                    looks = {locus.look(g) for g in kind}
                    assert kind == {g for g in made if locus.look(g) in looks}


def family() -> tuple[Task, Route]:
    """A son and two daughters of one pair, back to each other, two wanted."""
    asked = task("Clown", {"M": "66% het Clown"}, {"F": "het Clown"}, 4, limit=0.25, side_by_side=2, count=2)
    (male,), (female,) = asked.stock.males, asked.stock.females
    son = next(asked.choices.ways(male, (female,), Sex.MALE))
    daughter = next(asked.choices.ways(male, (female,), Sex.FEMALE))
    first = Step(male, (female,), (son, Wanted(daughter.kinds, Sex.FEMALE, 2)), 2)
    last = Step(Kept(first, 0), (Kept(first, 1), Kept(first, 2)), (asked.choices.wish,), 2)
    return asked, Route(last, 4, asked.times).trimmed()


def test_brother_and_sisters_replayed() -> None:
    asked, route = family()
    p = asked.chances.of(route).p
    hits = round(
        2000 * replay(route, asked.choices.heredity, asked.chances.hatchlings, 2000, np.random.default_rng(3))
    )
    assert binom.ppf(0.0005, 2000, p) <= hits <= binom.ppf(0.9995, 2000, p)


def test_same_seed_same_lives() -> None:
    asked, route = family()
    lived = [
        replay(route, asked.choices.heredity, asked.chances.hatchlings, 200, np.random.default_rng(5))
        for _ in range(2)
    ]
    assert lived[0] == lived[1]


def test_a_route_costs_what_its_steps_cost() -> None:
    _, route = family()
    assert (route.seasons, route.held) == (4, 3)
    assert route.clutches == sum(s.tries * len(s.females) for s in route.steps())
    assert math.isclose(sum(p for _, p in route.founders()[0].odds), 1)
