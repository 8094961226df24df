"""Carrier odds of small colonies against published and computed values."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.pedigree.carriers import carriers
from eggtooth.engine.pedigree.evidence import Evidence, Rates
from eggtooth.engine.pedigree.skeleton import skeleton
from tests.oracles.enumeration import enumerate_worlds
from tests.pedigree_colonies import CATALOGUE, answer, colony, lab_result, p

HETS = (("S", "M", "het Clown"), ("D", "F", "het Clown"))


def young(count: int, genes: str = "Normal", sire: str = "S", dam: str = "D", first: int = 1):
    return [(f"k{i}", "", genes, sire, dam, "C") for i in range(first, first + count)]


def test_prior_values() -> None:
    """Sib of a visual from two hets 2/3, its young with a normal 1/3, grandyoung 1/6 (Mendel; computed)."""
    found = answer(
        *HETS, ("a", "M", "Normal", "S", "D"), ("n", "F", "Normal"), ("b", "M", "", "a", "n"),
        ("m", "F", "Normal"), ("c", "", "", "b", "m"), ("v", "F", "Clown"), ("d", "", "Normal", "c2", "v"),
        ("c2", "M", "Normal"),
    )  # fmt: skip
    assert [p(found, t, "Clown/+") for t in "abcd"] == pytest.approx([2 / 3, 1 / 3, 1 / 6, 1], abs=1e-12)


POSTERIORS = [
    ("66% het Clown", "Clown", 1, Fraction(1, 2)),
    ("66% het Clown", "Clown", 5, Fraction(1, 17)),
    ("66% het Clown", "het Clown", 3, Fraction(27, 59)),
    ("66% het Clown", "het Clown", 5, Fraction(243, 755)),
    ("50% het Clown", "Clown", 3, Fraction(1, 9)),
    ("50% het Clown", "het Clown", 5, Fraction(243, 1267)),
    ("33% het Clown", "Clown", 4, Fraction(1, 33)),
    ("33% het Clown", "het Clown", 5, Fraction(243, 2291)),
]


@pytest.mark.parametrize(("sire", "dam", "normals", "expected"), POSTERIORS)
def test_after_normal_young(sire: str, dam: str, normals: int, expected: Fraction) -> None:
    """Bayes after n normal-looking young (computed); 1/2 with three at risk 1/2 each -> 1/9 is the published
    Kennedy disease example of Ogino & Wilson 2004, J. Mol. Diagn. 6:1-9."""
    found = answer(("S", "M", sire), ("D", "F", dam), *young(normals))
    assert p(found, "S", "Clown/+") == pytest.approx(float(expected), abs=1e-12)


JOINT = [(0, 2, 3), (1, 5, 8), (2, 17, 29), (4, 209, 401), (6, 2777, 5849), (8, 39329, 88481)]


@pytest.mark.parametrize(("normals", "above", "below"), JOINT)
def test_two_uncertain_parents(normals: int, above: int, below: int) -> None:
    """Two 66 % hets and n normal-looking young (computed exactly; the young are not independent)."""
    found = answer(("S", "M", "66% het Clown"), ("D", "F", "66% het Clown"), *young(normals))
    assert p(found, "S", "Clown/+") == pytest.approx(above / below, abs=1e-12)
    assert p(found, "D", "Clown/+") == pytest.approx(above / below, abs=1e-12)


def test_unequal_parents() -> None:
    """66 % x 50 % with four normal-looking young: 337/593, 209/593, each young 246/593 (computed)."""
    found = answer(("S", "M", "66% het Clown"), ("D", "F", "50% het Clown"), *young(4))
    assert [p(found, t, "Clown/+") for t in ("S", "D", "k1")] == pytest.approx(
        [337 / 593, 209 / 593, 246 / 593], abs=1e-12
    )
    visual = answer(
        ("S", "M", "66% het Clown"), ("D", "F", "50% het Clown"), *young(3), *young(1, "Clown", first=4)
    )
    assert [p(visual, t, "Clown/+") for t in ("S", "D", "k1")] == pytest.approx([1, 1, 2 / 3], abs=1e-12)


@pytest.mark.parametrize(
    ("one", "other", "share"),
    [("het", "66% het", 3 / 5), ("het", "50% het", 4 / 7), ("66% het", "50% het", 5 / 11),
     ("50% het", "50% het", 2 / 5),
     ("33% het", "33% het", 2 / 7)],
)  # fmt: skip
def test_young_of_uncertain_parents(one: str, other: str, share: float) -> None:
    """P(het | normal-looking) of one young of two uncertain parents (computed)."""
    found = answer(("S", "M", f"{one} Clown"), ("D", "F", f"{other} Clown"), *young(1))
    assert p(found, "k1", "Clown/+") == pytest.approx(share, abs=1e-12)


def test_evidence_flows_up_and_sideways() -> None:
    """66 % het parent x normal, young x and y; x is test-mated (computed)."""
    base = [("h", "M", "66% het Clown"), ("n", "F", "Normal"), ("x", "M", "Normal", "h", "n"),
            ("y", "F", "Normal", "h", "n"), ("v", "F", "Clown")]  # fmt: skip
    proven = answer(*base, ("z", "", "Clown", "x", "v"))
    assert [p(proven, "h", "Clown/+"), p(proven, "y", "Clown/+")] == pytest.approx([1, 1 / 2], abs=1e-12)
    normal = answer(*base, ("z", "", "Normal", "x", "v"))
    assert [p(normal, t, "Clown/+") for t in "hxy"] == pytest.approx([3 / 5, 1 / 5, 3 / 10], abs=1e-12)


def test_laboratory_results() -> None:
    """Sib of a visual, negative result: odds 2 to 1 against the error rates (Bayes; set-up as Ogino & Wilson
    2004)."""
    family = (*HETS, ("a", "M", "Normal", "S", "D"))
    found = answer(*family, entries=(lab_result("a", "Clown", 0, 0.1),))
    assert p(found, "a", "Clown/+") == pytest.approx(2 * 0.05 / (2 * 0.05 + 0.9), abs=1e-12)
    sure = answer(*family, entries=(lab_result("a", "Clown", 1),))
    assert p(sure, "a", "Clown/+") == 1


def test_stated_hets_count_and_claims_do_not() -> None:
    """`het X` with known parents is evidence of one copy; `N% het` is shown beside (the trade's use)."""
    family = (("S", "M", "50% het Clown"), ("D", "F", "Normal"))
    assert p(answer(*family, ("a", "", "het Clown", "S", "D")), "S", "Clown/+") == 1
    found = answer(*family, ("a", "", "66% het Clown", "S", "D"))
    assert p(found, "a", "Clown/+") == pytest.approx((1 / 4) / 1, abs=1e-12)


def test_look_not_noted_is_no_evidence() -> None:
    """An empty text says nothing; `Normal` says that nothing shows."""
    noted = answer(*HETS, ("a", "M", "Normal", "S", "D"))
    empty = answer(*HETS, ("a", "M", "", "S", "D"))
    assert p(noted, "a", "Clown/Clown") == 0
    assert p(empty, "a", "Clown/Clown") == pytest.approx(1 / 4)


@pytest.mark.parametrize(
    ("with_it", "against", "expected"),
    [(1, 0, 0.93), (2, 0, 0.9944), (3, 0, 0.99957), (4, 1, 0.99957), (3, 2, 0.93)],
)
def test_phase_of_a_banana_male(with_it: int, against: int, expected: float) -> None:
    """Posterior of a male maker at r = 0.07 (computed; direction published: Mallery & Carrillo 2016)."""
    sons = [(f"s{i}", "M", "Banana", "S", "D", "C") for i in range(with_it)]
    daughters = [(f"d{i}", "F", "Banana", "S", "D", "C") for i in range(against)]
    found = answer(("S", "M", "Banana"), ("D", "F", "Normal"), *sons, *daughters)
    on_y = sum(q for g, q in found.odds("S", "Banana").items() if g.a == 0)
    assert on_y == pytest.approx(expected, abs=5e-5)


def test_phase_by_descent() -> None:
    """A one-copy son has it on his Y when it came from his sire, on his X from his dam (Mallery & Carrillo
    2016)."""
    found = answer(("S", "M", "Banana"), ("D", "F", "Normal"), ("a", "M", "Banana", "S", "D"))
    assert all(g.a == 0 for g in found.odds("a", "Banana"))
    found = answer(("S", "M", "Normal"), ("D", "F", "Banana"), ("a", "M", "Banana", "S", "D"))
    assert all(g.b == 0 for g in found.odds("a", "Banana"))


def test_compound_breeds_one_or_the_other() -> None:
    """Lesser/Mojave x normal: half Lesser, half Mojave, never normal (computed)."""
    family = (("S", "M", "Lesser Mojave"), ("D", "F", "Normal"))
    found = answer(*family, ("a", "", "", "S", "D"))
    locus = CATALOGUE.locus_of("Lesser").name
    assert [p(found, "a", g, locus) for g in ("Lesser/+", "Mojave/+", "+/+")] == pytest.approx([0.5, 0.5, 0])


def test_unknown_parent_carries_what_the_young_show() -> None:
    """Half-known parentage: the visual young proves that both parents gave one copy."""
    found = answer(
        ("D", "F", "het Clown"), ("a", "M", "Clown", "", "D", "C"), ("b", "M", "Normal", "", "D", "E")
    )
    assert p(found, "a", "Clown/Clown") == 1
    assert p(found, "b", "Clown/+") == pytest.approx(0.5)


SIRES = [("S1", "M", "Clown"), ("S2", "M", "66% het Clown Pastel"), ("D", "F", "het Clown")]


@pytest.mark.parametrize("seed", range(6))
def test_uncertain_sires_over_all_loci(seed: int) -> None:
    """Two loci and two clutches of uncertain sires: every world written down, both loci weighing on the
    sires."""
    rng = np.random.default_rng(seed)
    looks = ["Normal", "Clown", "Pastel", "Clown Pastel", ""]
    lines = [*SIRES, ("E", "F", "50% het Clown"), *(
        (f"{dam}{i}", "", str(rng.choice(looks, p=[0.5, 0.1, 0.2, 0.1, 0.1])), "S1|S2", dam, dam)
        for dam in "DE" for i in range(3)
    )]  # fmt: skip
    mine = colony(*lines)
    found = carriers(mine, CATALOGUE)
    if found.contradictions or found.clashing:
        pytest.skip("the drawn looks cannot be")
    evidence = Evidence(mine, CATALOGUE, skeleton(mine), Rates())
    by_locus = {}
    for locus in evidence.loci:
        question = evidence.question(locus, within=None)
        labels = [("", g) for g in question.model.segregation.genotypes]
        worlds = {}
        for world in np.ndindex(2, 2):
            odds = {k: np.eye(2)[w] for k, w in enumerate(world)}
            asked = evidence.question(locus, odds)
            worlds[world] = enumerate_worlds(asked.family, labels, None)[:2]
        by_locus[locus.name] = (question, worlds)
    weight = {w: np.prod([by_locus[n][1][w][1] for n in by_locus]) for w in np.ndindex(2, 2)}
    total = sum(weight.values())
    for name, (question, worlds) in by_locus.items():
        expected = sum(weight[w] / total * worlds[w][0] for w in weight if weight[w] > 0)
        np.testing.assert_allclose(found.loci[name].posterior.p, expected, atol=1e-9)
        assert len(question.rows)
    for k in range(2):
        first = sum(v for w, v in weight.items() if w[k] == 0) / total
        assert found.sires[k][0] == pytest.approx(first, abs=1e-9)


def test_one_typing_error_leaves_the_rest_alone() -> None:
    """A visual out of nowhere is named; the other family keeps its exact odds."""
    lines = (*HETS, *young(3), ("m", "M", "Normal"), ("f", "F", "Normal"), ("odd", "", "Clown", "m", "f"))
    found = answer(*lines)
    assert [set(c.tags) for c in found.contradictions] == [{"m", "odd"}] or [
        set(c.tags) for c in found.contradictions
    ] == [{"f", "odd"}]
    assert p(found, "k1", "Clown/+") == pytest.approx(2 / 3, abs=1e-12)
    assert p(found, "odd", "Clown/Clown") < 0.01


def test_look_errors_as_a_setting() -> None:
    """With looks wrong in 1 of 100, a normal-looking young is a visual mistaken with 0.01/4 against 0.99 x
    3/4."""
    found = answer(*HETS, *young(1), rates=Rates(look_error=0.01))
    wrong = 0.01 / 4
    assert p(found, "k1", "Clown/Clown") == pytest.approx(wrong / (wrong + 0.99 * 3 / 4), abs=1e-12)


def test_only_what_changed_is_asked_again() -> None:
    """A clutch of one gene leaves another gene's answer the same object."""
    before = answer(*HETS, *young(2), ("P", "M", "het Pied"), ("Q", "F", "het Pied"))
    after = answer(
        *HETS,
        *young(2),
        ("P", "M", "het Pied"),
        ("Q", "F", "het Pied"),
        ("z", "", "Normal", "P", "Q"),
        before=before,
    )
    assert after.loci["Clown"].posterior is before.loci["Clown"].posterior
    assert p(after, "z", "Piebald/+", "Piebald") == pytest.approx(2 / 3)


def test_a_founder_of_unnoted_look_may_carry_what_its_young_show() -> None:
    """Empty genes mean not noted: a gap, not a record of carrying nothing. A visual has a copy from each."""
    animals = [
        Animal("S", Sex.MALE),
        Animal("D", Sex.FEMALE, genes="het Clown"),
        Animal("K", Sex.FEMALE, genes="Clown", sires=("S",), dam="D", clutch="c"),
    ]
    found = carriers(Colony.of(animals), standard())
    assert not found.contradictions
    assert sum(p for g, p in found.odds("S", "Clown").items() if g.a or g.b) == pytest.approx(1)


def test_a_founder_of_unnoted_look_without_telling_young_is_taken_as_wild_type() -> None:
    animals = [
        Animal("S", Sex.MALE),
        Animal("D", Sex.FEMALE, genes="Clown"),
        Animal("K", Sex.FEMALE, genes="", sires=("S",), dam="D", clutch="c"),
    ]
    found = carriers(Colony.of(animals), standard())
    assert found.odds("S", "Clown") == {(0, 0): 1.0}
