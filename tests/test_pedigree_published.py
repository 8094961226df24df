"""Carrier chances, row by row: the whole tables behind the examples of `test_pedigree_carriers`.

Bayes with Mendel's segregation (Mendel 1866), computed exactly by writing out the worlds, unless another
source is named.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from eggtooth.engine.genetics.clutches import eggs_needed
from eggtooth.engine.pedigree.evidence import Rates
from eggtooth.engine.pedigree.together import together
from eggtooth.engine.pedigree.worth import carriers_of, falls, show_chance
from eggtooth.engine.pedigree.worth import test_crosses as crosses_of
from tests.pedigree_colonies import answer, lab_result, p

SHARES = {Fraction(2, 3): "66% het", Fraction(1, 2): "50% het", Fraction(1, 3): "33% het",
          Fraction(1): "het", Fraction(0): ""}  # fmt: skip
COUNTS = (1, 2, 3, 4, 5, 6, 8, 10)
TABLE = [
    ("66% het", "", (1 / 2, 1 / 3, 1 / 5, 1 / 9, 1 / 17, 0.03030, 0.00775, 0.00195)),
    ("66% het", "het", (3 / 5, 9 / 17, 27 / 59, 0.38756, 243 / 755, 0.26251, 0.16682, 0.10123)),
    ("50% het", "", (1 / 3, 1 / 5, 1 / 9, 1 / 17, 1 / 33, 0.01538, 0.00389, 0.00098)),
    ("50% het", "het", (3 / 7, 9 / 25, 27 / 91, 0.24036, 243 / 1267, 0.15109, 0.09100, 0.05331)),
    ("33% het", "", (1 / 5, 1 / 9, 1 / 17, 1 / 33, 1 / 65, 0.00775, 0.00195, 0.00049)),
    ("33% het", "het", (3 / 11, 9 / 41, 27 / 155, 0.13659, 243 / 2291, 0.08172, 0.04767, 0.02739)),
]
APART = (7 / 11, 49 / 81, 343 / 599, 0.53967, 0.50637, 0.47302, 0.40731, 0.34476)


@pytest.mark.parametrize(("sire", "dam", "row"), TABLE)
def test_rows_of_normal_young(sire: str, dam: str, row: tuple[float, ...]) -> None:
    """One mate for all. 1/2 with three at risk 1/2 each -> 1/9 is the Kennedy disease example of Ogino &
    Wilson 2004, J. Mol. Diagn. 6:1-9."""
    found = answer(("S", "M", f"{sire} Clown"), ("D", "F", f"{dam} Clown".strip()))
    (cross,) = crosses_of(found, "S", "Clown", ["D"], eggs=10)
    for n, expected in zip(COUNTS, row, strict=True):
        assert cross.falling[n] == pytest.approx(expected, abs=5e-6)


def with_other_mates(sire: str, count: int) -> float:
    """A male whose `count` normal-looking young each have a 1/2-het dam of their own."""
    dams = [(f"d{i}", "F", "50% het Clown") for i in range(count)]
    young = [(f"k{i}", "", "Normal", "S", f"d{i}", f"c{i}") for i in range(count)]
    return p(answer(("S", "M", f"{sire} Clown"), *dams, *young), "S", "Clown/+")


@pytest.mark.parametrize(("n", "expected"), list(zip(COUNTS, APART, strict=True)))
def test_row_of_different_half_het_mates(n: int, expected: float) -> None:
    """2/3 and 7/8 a young one: only right when every young has another mother."""
    assert with_other_mates("66% het", n) == pytest.approx(expected, abs=5e-6)


Pair = tuple[int, int]
NEEDED = [("50% het", (5, 7), (11, 16), (23, 35)), ("66% het", (6, 8), (13, 19), (28, 40)),
          ("33% het", (4, 6), (8, 14), (17, 30))]  # fmt: skip


@pytest.mark.parametrize(("sire", "visual", "het", "apart"), NEEDED)
def test_normals_needed_below_five_and_one_percent(
    sire: str, visual: tuple, het: tuple, apart: tuple
) -> None:
    """With a visual, a het, and different 1/2-het mates."""
    for mate, needed in (("Clown", visual), ("het Clown", het)):
        found = answer(("S", "M", f"{sire} Clown"), ("D", "F", mate))
        model = found.loci["Clown"].model
        joint = together(found, "S", "Clown", ["D"]).odds["D"]
        left = falls(joint, show_chance(model, True), carriers_of(model))
        assert tuple(next(n for n, q in enumerate(left) if q < b) for b in (0.05, 0.01)) == needed
    for n, below in zip(apart, (0.05, 0.01), strict=True):
        assert with_other_mates(sire, n) < below <= with_other_mates(sire, n - 1)


def test_progeny_needed_to_call_a_parent_clear() -> None:
    """log 0.05 / log 0.75 = 10.4 and log 0.01 / log 0.75 = 16.0 (North Dakota State University genetics
    notes, which round down); the guarantee needs 11 and 17."""
    assert [eggs_needed(Fraction(1, 4), c) for c in (Fraction(95, 100), Fraction(99, 100))] == [11, 17]


def test_half_of_the_young_of_a_het_and_a_normal() -> None:
    """A 100 % het with a normal: 1/2."""
    found = answer(("S", "M", "het Clown"), ("D", "F", "Normal"), ("a", "", "", "S", "D"))
    assert p(found, "a", "Clown/+") == pytest.approx(1 / 2, abs=1e-12)


def test_carrier_of_the_population_by_the_engine() -> None:
    """Carriers 1 in 25, a negative test that finds 90 % of them: 1/241 (computed; a published patient report
    rounds to 1/240)."""
    rates = Rates(test_misses=0.1, test_invents=0.0)
    found = answer(("a", "M", "4% het Clown"), entries=(lab_result("a", "Clown", 0),), rates=rates)
    assert p(found, "a", "Clown/+") == pytest.approx(1 / 241, abs=1e-12)


PARENTS = [
    ("1", "1", "1/4", "1/2", "2/3"), ("1", "2/3", "1/6", "1/2", "3/5"), ("1", "1/2", "1/8", "1/2", "4/7"),
    ("1", "0", "0", "1/2", "1/2"), ("2/3", "2/3", "1/9", "4/9", "1/2"),
    ("2/3", "1/2", "1/12", "5/12", "5/11"), ("2/3", "0", "0", "1/3", "1/3"),
    ("1/2", "1/2", "1/16", "3/8", "2/5"), ("1/2", "0", "0", "1/4", "1/4"),
    ("1/3", "1/3", "1/36", "5/18", "2/7"),
]  # fmt: skip


def said(share: str) -> str:
    words = SHARES[Fraction(share)]
    return f"{words} Clown" if words else "Normal"


@pytest.mark.parametrize(("one", "other", "visual", "het", "het_if_normal"), PARENTS)
def test_two_uncertain_parents(one: str, other: str, visual: str, het: str, het_if_normal: str) -> None:
    """Of one young of two that carry with these chances, unrelated."""
    found = answer(
        ("S", "M", said(one)), ("D", "F", said(other)), ("E", "F", said(other)), ("R", "M", said(one)),
        ("a", "", "", "S", "D", "c"), ("b", "", "Normal", "R", "E", "d"),
    )  # fmt: skip
    assert p(found, "a", "Clown/Clown") == pytest.approx(float(Fraction(visual)), abs=1e-12)
    assert p(found, "a", "Clown/+") == pytest.approx(float(Fraction(het)), abs=1e-12)
    assert p(found, "b", "Clown/+") == pytest.approx(float(Fraction(het_if_normal)), abs=1e-12)


@pytest.mark.parametrize(("share", "visual"), [("2/3", 1 / 3), ("1/2", 1 / 4), ("1/3", 1 / 6)])
def test_a_visual_with_an_uncertain_mate(share: str, visual: float) -> None:
    """A visual young with half the mate's chance; a normal-looking one is a sure het."""
    found = answer(("S", "M", said(share)), ("D", "F", "Clown"), ("a", "", "", "S", "D", "c"),
                   ("R", "M", said(share)), ("b", "", "Normal", "R", "D", "d"))  # fmt: skip
    assert p(found, "a", "Clown/Clown") == pytest.approx(visual, abs=1e-12)
    assert p(found, "b", "Clown/+") == pytest.approx(1, abs=1e-12)


def both_carry(dam: str, normals: int) -> float:
    young = [(f"k{i}", "", "Normal", "S", "D", "C") for i in range(normals)]
    found = answer(("S", "M", "66% het Clown"), ("D", "F", f"{dam} Clown"), *young)
    return float(together(found, "S", "Clown", ["D"]).odds["D"][1:, 1:].sum())


BOTH = [(0, "4/9"), (1, "3/8"), (2, "9/29"), (4, "81/401"), (6, "729/5849"), (8, "6561/88481")]


@pytest.mark.parametrize(("normals", "both"), BOTH)
def test_both_of_two_uncertain_parents(normals: int, both: str) -> None:
    """Two 66 % hets: their chances together, not the product of the two."""
    assert both_carry("66% het", normals) == pytest.approx(float(Fraction(both)), abs=1e-12)


def test_both_of_two_unequal_parents() -> None:
    """66 % and 50 %, four normal-looking young: both with 81/593."""
    assert both_carry("50% het", 4) == pytest.approx(81 / 593, abs=1e-12)


PHASES = [((1, 0), (0.95, 0.93, 0.9)), ((2, 0), (0.9972, 0.9944, 0.9878)),
          ((3, 0), (0.99985, 0.99957, 0.99863)), ((4, 1), (0.99985, 0.99957, 0.99863)),
          ((3, 2), (0.95, 0.93, 0.9))]  # fmt: skip


@pytest.mark.parametrize("normal", [False, True])
@pytest.mark.parametrize(("counts", "row"), PHASES)
def test_phase_at_three_rates(counts: tuple[int, int], row: tuple[float, ...], normal: bool) -> None:
    """Young for and against a male maker at r = 0.05, 0.07 and 0.10 (computed; direction published: Mallery &
    Carrillo 2016, Phyllomedusa 15:29-42). A normal daughter says what a banana son says, and so on."""
    sexes = ("F", "M") if normal else ("M", "F")
    look = "Normal" if normal else "Banana"
    young = [(f"{sex}{i}", sex, look, "S", "D", "C") for sex, n in zip(sexes, counts, strict=True)
             for i in range(n)]  # fmt: skip
    for rate, expected in zip((0.05, 0.07, 0.1), row, strict=True):
        found = answer(("S", "M", "Banana"), ("D", "F", "Normal"), *young, rates=Rates(recombination=rate))
        on_y = sum(q for g, q in found.odds("S", "Banana").items() if g.a == 0)
        assert on_y == pytest.approx(expected, abs=5e-5)
