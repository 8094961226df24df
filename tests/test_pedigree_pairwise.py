"""Kinship pair by pair equals the printed values and the block method on random pedigrees."""

from __future__ import annotations

import numpy as np
import pytest

from eggtooth.engine.colony import Animal
from eggtooth.engine.pedigree.kinship import kinship
from eggtooth.engine.pedigree.lineage import CircularDescent, lineage
from eggtooth.engine.pedigree.pairwise import PairKinship


def pedigree(rows: str) -> dict[str, Animal]:
    """`animal sire dam` a line; `-` for unknown, `a|b` for candidates."""
    found = {}
    for row in rows.strip().splitlines():
        tag, sire, dam = row.split()
        sires = () if sire == "-" else tuple(sire.split("|"))
        found[tag] = Animal(tag, sires=sires, dam="" if dam == "-" else dam)
    return found


def test_mrode_table_2_1() -> None:
    """Mrode 2014, Table 2.1: relationship is twice the kinship; animals 5 and 6 are inbred 0.125."""
    k = PairKinship(pedigree("1 - -\n2 - -\n3 1 2\n4 1 -\n5 4 3\n6 5 2"))
    a = [[2 * k(str(i), str(j)) for j in range(1, 7)] for i in range(1, 7)]
    assert a[4] == [0.5, 0.25, 0.625, 0.625, 1.125, 0.6875]
    assert a[5] == [0.25, 0.625, 0.5625, 0.3125, 0.6875, 1.125]


@pytest.mark.parametrize("seed", range(20))
def test_equals_the_block_method_on_random_pedigrees(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows = []
    for i in range(40):
        sires = [f"a{s}" for s in rng.integers(0, i, rng.integers(0, 3))] if i > 3 else []
        dam = f"a{rng.integers(0, i)}" if i > 3 and rng.random() < 0.8 else "-"
        sires = [s for s in dict.fromkeys(sires) if s != dam]
        rows.append(f"a{i} {'|'.join(sires) or '-'} {dam}")
    animals = pedigree("\n".join(rows))
    descent, k = lineage(animals), PairKinship(animals)
    at = descent.rows(list(animals))
    block = kinship(descent, at, at)
    mine = np.array([[k(a, b) for b in animals] for a in animals])
    np.testing.assert_allclose(mine, block, atol=1e-12)


def test_circular_descent_is_named() -> None:
    with pytest.raises(CircularDescent):
        PairKinship(pedigree("a b -\nb a -"))("a", "b")
