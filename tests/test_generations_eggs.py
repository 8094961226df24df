"""Eggs a step needs, against the published way of sizing crosses and worked rows."""

from __future__ import annotations

import pytest

from eggtooth.engine.colony import Sex
from eggtooth.engine.genetics.notation import read
from eggtooth.engine.planning.generations.eggs import eggs_of, fewest
from eggtooth.engine.planning.generations.goal import Heredity, Wanted, goal_of
from eggtooth.engine.planning.generations.seasons import sure_season
from eggtooth.engine.planning.generations.stock import joint
from eggtooth.engine.planning.generations.structure import Kept, Route, Step
from tests.route_cases import task


def shared(total: float, *steps: float | tuple[float, float]) -> list[int | None]:
    """Eggs of each step when the whole is to succeed with `total`, each step having G^(1/k)."""
    g = total ** (1 / len(steps))
    rows = [s if isinstance(s, tuple) else (s,) for s in steps]
    return [fewest([(1.0, row)], (1,) * len(row), g) for row in rows]


def test_the_worked_scheme_of_a_published_program() -> None:
    """De Beukelaer et al. 2015 (BMC Genetics 16:2), their program's scheme of two uncertain crosses.

    p = 3.06333e-4 (of linked loci; that linkage is not ours, the sizes are) and 1/16; the sizes are
    worked out by their formula n = ln(1 - G^(1/k)) / ln(1 - p).
    """
    p = 0.12376 * 0.0024752
    assert shared(0.90, p, 1 / 16) == [9694, 47]
    assert shared(0.95, p, 1 / 16) == [11999, 57]


@pytest.mark.parametrize(
    ("steps", "eggs"),
    [
        ((1 / 16,), [47]),  # both hets to each other: a double visual
        ((1 / 4, 1 / 8), [13, 28]),  # a visual het for the other first, its sex left open
        (((1 / 8, 1 / 8), 1 / 4), [33, 13]),  # one of each sex, then to each other
        ((1 / 4, 1 / 4, 1 / 4), [15, 15, 15]),  # one of each kind apart, then to each other
    ],
)
def test_two_recessives_without_selfing(steps: tuple[float, ...], eggs: list[int]) -> None:
    """Ways to a double visual, 95 % in all; sized by the formula of De Beukelaer et al. 2015, no selfing."""
    assert shared(0.95, *steps) == eggs


@pytest.mark.parametrize(
    ("steps", "eggs"),
    [
        ((1 / 16,), [47]),  # four genes, balanced (A x B) x (C x D)
        ((1 / 4, 1 / 8), [13, 28]),  # four genes, one after the other ((A x B) x C) x D
        ((1 / 16, 1 / 16, 1 / 256), [64, 64, 1042]),  # eight genes, balanced
        ((2**-2, 2**-3, 2**-4, 2**-5, 2**-6, 2**-7), [17, 36, 74, 151, 303, 608]),  # eight, one by one
    ],
)
def test_balanced_and_tandem_trees(steps: tuple[float, ...], eggs: list[int]) -> None:
    """Trees as of Servin et al. 2004 (Genetics 168:513): each knot keeps all genes, (1/2)^k of gametes."""
    assert shared(0.95, *steps) == eggs


@pytest.mark.parametrize(
    ("p", "eggs"),
    [
        (4**-2, 47), (4**-4, 766), (4**-8, 196_327),
        ((3 / 4) ** 2, 4), ((3 / 4) ** 4, 8), ((3 / 4) ** 8, 29),
    ],
)  # fmt: skip
def test_all_hets_to_each_other(p: float, eggs: int) -> None:
    """Homozygous for 2, 4, 8 genes, or showing all of 2, 4, 8 dominants: 95 % (arithmetic)."""
    assert fewest([(1.0, (p,))], (1,), 0.95) == eggs


def test_the_chances_of_those_rows_come_from_our_own_crosses() -> None:
    """Both hets 1/16; het to visual 1/4 (1/8 of one sex); visual het to double het 1/8; visual hets 1/4."""
    loci, wish = goal_of(read("Clown Piebald"))
    heredity = Heredity(loci)
    state = {g: joint(read(g).founder(), loci)[0][0] for g in ("het Clown Piebald", "Clown het Piebald")}
    both, half = state.values()
    assert heredity.chance(both, both, wish) == pytest.approx(1 / 16)
    assert heredity.chance(half, both, wish) == pytest.approx(1 / 8)
    assert heredity.chance(half, half, wish) == pytest.approx(1 / 4)
    visual_het = goal_of(read("Clown het Piebald male"))[1]
    clown = joint(read("Clown").founder(), loci)[0][0]
    assert heredity.chance(both, clown, visual_het) == pytest.approx(1 / 8)


def test_four_genes_balanced_as_a_route() -> None:
    """(A x B) x (C x D) with four genes of one copy: the last step has 1/16, 47 eggs for 95 % alone."""
    asked = task(
        "Pastel Mojave Leopard Enchi", {"A": "Pastel", "C": "Leopard"}, {"B": "Mojave", "D": "Enchi"}, 3
    )
    a, c = asked.stock.males
    b, d = asked.stock.females
    loci = asked.choices.heredity.loci
    son = next(w for w in asked.choices.ways(a, (b,), Sex.MALE) if _looks(w, loci) == {"Pastel", "Mojave"})
    daughter = next(
        w for w in asked.choices.ways(c, (d,), Sex.FEMALE) if _looks(w, loci) == {"Leopard", "Enchi"}
    )
    last = Step(Kept(Step(a, (b,), (son,)), 0), (Kept(Step(c, (d,), (daughter,)), 0),), (asked.choices.wish,))
    route = Route(last, 3, asked.times)
    eggs = eggs_of(route, asked.chances.of(route), asked.choices.heredity)
    assert eggs[last].p == pytest.approx(1 / 16)
    assert eggs[last].needed[1] == 47


def _looks(seeks: Wanted, loci: object) -> set[str]:
    """Looks of a choice that has one at each locus."""
    looks = [
        {locus.look(g) for g in kind}
        for locus, kind in zip(loci, seeks.kinds, strict=True)  # type: ignore[call-overload]
    ]
    return {name for found in looks if len(found) == 1 for look in found for name in look}


def test_a_possible_het_may_need_more_eggs_than_there_are() -> None:
    """A 66 % het to a visual: even endless eggs bring a visual in two cases of three (Bayes, arithmetic)."""
    half, none = (1 / 2,), (0.0,)
    cases = [(2 / 3, half), (1 / 3, none)]
    assert fewest(cases, (1,), 0.90) is None
    assert fewest(cases, (1,), 0.60) == 4  # 2/3 (1 - 2^-n) >= 0.6 from n = 4: 0.625


def test_the_chance_of_a_step_is_binomial() -> None:
    """One clutch of eight sure eggs, het to het: 1 - (3/4)^8 (binomial arithmetic)."""
    asked = task("Clown", {"A": "het Clown"}, {"B": "het Clown"}, 1, hatchlings=sure_season(8))
    (male,), (female,) = asked.stock.males, asked.stock.females
    route = Route(Step(male, (female,), (asked.choices.wish,)), 1, asked.times)
    assert asked.chances.of(route).p == pytest.approx(1 - 0.75**8)
