"""The front of routes against plain recursion over everything that can happen, on tiny stocks."""

from __future__ import annotations

import numpy as np
import pytest

from eggtooth.engine.facts.inheritance import Genotype
from eggtooth.engine.planning.generations.everything import Everything
from eggtooth.engine.planning.generations.search import Task
from eggtooth.engine.planning.generations.structure import Founder
from tests.oracles import routes_by_recursion as oracle
from tests.route_cases import searched, task

CLUTCH = oracle.binomial_clutch(2, 0.8)

CASES = {
    "recessive": ("Clown", {"M": "het Clown"}, {"F": "66% het Clown", "G": "Normal"}, 3, 0.125),
    "recessive, sibs allowed": ("Clown", {"M": "Clown"}, {"F": "Normal"}, 3, 0.25),
    "own parents allowed": ("Clown", {"M": "66% het Clown"}, {"F": "Normal"}, 3, 0.25),
    "half-sibs": ("Clown", {"M": "Clown"}, {"F": "Normal", "G": "Normal"}, 3, 0.125),
    "super": ("Super Pastel", {"M": "Pastel", "N": "Normal"}, {"F": "Normal", "G": "Pastel"}, 3, 0.125),
    "complex": ("Lesser Mojave", {"M": "Lesser Mojave"}, {"F": "Normal", "G": "Butter"}, 3, 0.125),
    "sex-linked son": ("Banana male", {"M": "Banana"}, {"F": "Normal", "G": "Normal"}, 3, 0.125),
    "sex-linked, two copies": ("Super Banana", {"M": "Banana"}, {"F": "Normal", "G": "Banana"}, 3, 0.25),
    "two loci": ("Clown Piebald", {"M": "Piebald"}, {"F": "Clown", "G": "66% het Clown Piebald"}, 2, 0.125),
    "two loci, one shown": ("Pastel Clown", {"M": "Pastel"}, {"F": "het Clown", "G": "Clown"}, 2, 0.5),
    "four seasons": ("Clown", {"M": "Clown"}, {"F": "Normal", "G": "Normal"}, 4, 0.125),
    "blocked": ("Spider", {"M": "Spider"}, {"F": "Normal"}, 2, 0.125),
    "a het wished": ("het Clown female", {"M": "66% het Clown"}, {"F": "Normal"}, 3, 0.125),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_the_front_is_that_of_plain_recursion(name: str) -> None:
    wish, males, females, seasons, limit = CASES[name]
    asked = task(wish, males, females, seasons, limit=limit, hatchlings=CLUTCH)
    search = searched(asked)
    house, animals, wanted = in_plain_words(asked)
    routes = [] if name == "blocked" else oracle.every_route(animals, wanted, house, limit)
    expected = oracle.points(routes, house)
    every = Everything(asked.stock, asked.rules, asked.choices, asked.times)
    found = {(*way.costs, round(way.p, 9)) for way in map(asked.way, every.routes()) if way.p > 0}
    assert search.complete
    assert found == expected
    assert {(*w.costs, round(w.p, 9)) for w in search.front.ways} == oracle.front(expected)


GENES = ("Clown", "het Clown", "66% het Clown", "Normal")


@pytest.mark.parametrize("seed", range(6))
def test_drawn_stocks(seed: int) -> None:
    """Two or three animals of drawn odds, ages and waits."""
    rng = np.random.default_rng(seed)
    males = {f"M{i}": str(rng.choice(GENES)) for i in range(rng.integers(1, 3))}
    females = {f"F{i}": str(rng.choice(GENES)) for i in range(rng.integers(1, 3))}
    ages = {tag: int(rng.integers(1, 3)) for tag in (*males, *females)}
    limit, after = float(rng.choice([0.0, 0.125, 0.25])), (1, int(rng.integers(1, 3)))
    asked = task("Clown", males, females, 3, limit=limit, hatchlings=CLUTCH, after=after, from_season=ages)
    house, animals, wanted = in_plain_words(asked)
    expected = oracle.points(oracle.every_route(animals, wanted, house, limit), house)
    every = Everything(asked.stock, asked.rules, asked.choices, asked.times)
    assert {(*w.costs, round(w.p, 9)) for w in map(asked.way, every.routes()) if w.p > 0} == expected


def in_plain_words(asked: Task) -> tuple[oracle.House, list[oracle.Animal], oracle.Choice]:
    """The same question in the oracle's own words."""
    loci, wish = asked.choices.heredity.loci, asked.choices.wish
    genes = tuple(
        oracle.Gene(
            ("+", *(a.name for a in locus.alleles)),
            frozenset(a.name for a in locus.alleles if a.shows_once),
            locus.sex_linked,
        )
        for locus in loci
    )
    names = [gene.alleles for gene in genes]

    def pair(place: int, g: Genotype) -> oracle.Pair:
        return names[place][g.a], names[place][g.b]

    def animal(f: Founder) -> oracle.Animal:
        odds = tuple((tuple(ordered(i, g) for i, g in enumerate(state)), p) for state, p in f.odds)
        return oracle.Animal(f.tag, f.sex.value, odds, f.season)

    def ordered(place: int, g: Genotype) -> oracle.Pair:
        return pair(place, g) if loci[place].sex_linked else oracle.plain(pair(place, g))

    times = asked.times
    house = oracle.House(
        genes,
        times.seasons,
        {"M": times.sons_after, "F": times.daughters_after},
        asked.chances.hatchlings,
        float(asked.choices.heredity.r),
    )
    kinds = tuple(frozenset(oracle.plain(pair(i, g)) for g in kind) for i, kind in enumerate(wish.kinds))
    return (
        house,
        [animal(f) for f in (*asked.stock.males, *asked.stock.females)],
        oracle.Choice(wish.sex.value, kinds),
    )
