"""What moved the odds: leaving a group out must give the odds of a colony without it.

The figures are the carrier updates of textbook pedigrees: prior 2/3 for a normal-looking sibling of a visual,
then q^n p / (q^n p + 1 - p) after n normal-looking young by a visual, q = 1/2 (Ogino & Wilson 2004, J. Mol.
Diagn. 6:1-9, the same arithmetic).
"""

from __future__ import annotations

import pytest

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.pedigree.carriers import carriers
from eggtooth.engine.pedigree.why import chance, moved_by

PARENTS = [Animal("S", Sex.MALE, genes="het Clown"), Animal("D", Sex.FEMALE, genes="het Clown")]
VISUAL = Animal("V", Sex.FEMALE, genes="Clown")


def child(tag: str, genes: str, sire: str, dam: str, clutch: str) -> Animal:
    return Animal(tag, Sex.MALE, genes=genes, sires=(sire,), dam=dam, clutch=clutch)


def colony(young: int) -> Colony:
    mine = child("X", "Normal", "S", "D", "c1")
    normals = [child(f"y{i}", "Normal", "X", "V", "c2") for i in range(young)]
    return Colony.of([*PARENTS, VISUAL, mine, *normals])


@pytest.mark.parametrize(("young", "after"), [(1, 1 / 2), (2, 1 / 3), (3, 1 / 5), (4, 1 / 9)])
def test_young_move_the_odds_from_two_thirds(young: int, after: float) -> None:
    found = carriers(colony(young), standard())
    assert chance(found, "X", "Clown") == pytest.approx(after, abs=1e-12)
    by_young = next(m for m in moved_by(found, "X", "Clown") if "young" in m.what)
    assert by_young.without == pytest.approx(2 / 3, abs=1e-12)
    assert by_young.now == pytest.approx(after, abs=1e-12)
    assert set(by_young.tags) == {f"y{i}" for i in range(young)}


def test_own_look_moves_from_three_quarters() -> None:
    found = carriers(colony(0), standard())
    (own,) = [m for m in moved_by(found, "X", "Clown") if m.tags == ("X",)]
    assert own.without == pytest.approx(3 / 4, abs=1e-12)
    assert own.now == pytest.approx(2 / 3, abs=1e-12)


def test_what_moves_nothing_is_not_told() -> None:
    sure = Colony.of(
        [*PARENTS, VISUAL, child("Z", "Normal", "S", "V", "c3"), child("W", "Clown", "S", "V", "c3")]
    )
    assert [m.what for m in moved_by(carriers(sure, standard()), "V", "Clown")] == []


def test_an_unknown_locus_has_no_story() -> None:
    assert moved_by(carriers(colony(1), standard()), "X", "Piebald") == []
