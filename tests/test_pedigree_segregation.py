"""Segregation tables against crosses everybody knows."""

from __future__ import annotations

import numpy as np
import pytest

from eggtooth.engine.pedigree.segregation import Segregation, autosomal, sex_linked
from tests.oracles.enumeration import births


def cross(
    s: Segregation, sire: tuple[int, int], dam: tuple[int, int]
) -> dict[tuple[bool, tuple[int, int]], float]:
    """Offspring of two genotypes by (male, genotype)."""
    first = next(i for i, g in enumerate(s.genotypes) if g == sire and s.can_sire[i])
    second = next(i for i, g in enumerate(s.genotypes) if g == dam and s.can_dam[i])
    male = s.can_sire if s.sex_linked else np.zeros(len(s.genotypes), dtype=bool)
    odds = s.offspring[first, second]
    return {(bool(male[i]), g): float(odds[i]) for i, g in enumerate(s.genotypes) if odds[i] > 0}


def test_mendel() -> None:
    """Two carriers: 1/4, 1/2, 1/4 (Mendel 1866)."""
    assert cross(autosomal(2), (0, 1), (0, 1)) == {
        (False, (0, 0)): 0.25,
        (False, (0, 1)): 0.5,
        (False, (1, 1)): 0.25,
    }


def test_lost_before_hatching() -> None:
    """Two-copy eggs lost: hatchlings 2/3 one copy, 1/3 none (computed)."""
    found = cross(autosomal(2, ((1, 1),)), (0, 1), (0, 1))
    assert found == pytest.approx({(False, (0, 0)): 1 / 3, (False, (0, 1)): 2 / 3})


def test_male_maker_x_normal() -> None:
    """Copy on his Y, r = 0.07: 0.465 sons with it, 0.035 daughters with it (computed from the published
    rule)."""
    found = cross(sex_linked(2, 0.07), (0, 1), (0, 0))
    assert found[True, (0, 1)] == pytest.approx(0.465)
    assert found[False, (0, 1)] == pytest.approx(0.035)


def test_both_parents_banana() -> None:
    """Male maker x one-copy dam, r = 0.07: super sons 0.2325; a one-copy son is a male maker with 0.93
    (computed)."""
    found = cross(sex_linked(2, 0.07), (0, 1), (0, 1))
    assert found[True, (1, 1)] == pytest.approx(0.2325)
    assert found[True, (0, 1)] / (found[True, (0, 1)] + found[True, (1, 0)]) == pytest.approx(0.93)


@pytest.mark.parametrize("alleles", [2, 3])
def test_equals_gametes_written_down(alleles: int) -> None:
    """Every pair of genotypes of a sex-linked locus against gametes one by one."""
    s = sex_linked(alleles, 0.11)
    for i in np.flatnonzero(s.can_sire):
        for j in np.flatnonzero(s.can_dam):
            found = cross(s, s.genotypes[i], s.genotypes[j])
            expected = {
                (sex == "M", g): p for (sex, g), p in births(s.genotypes[i], s.genotypes[j], 0.11).items()
            }
            assert found == pytest.approx(expected)


def test_recombination_is_a_share() -> None:
    """Beyond one half makes no sense."""
    with pytest.raises(ValueError, match="recombination"):
        sex_linked(2, 0.6)
