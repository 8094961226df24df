"""Exact posteriors against full enumeration on hundreds of random looped families."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from eggtooth.engine.pedigree.family import Family, Impossible
from eggtooth.engine.pedigree.peeling import posterior
from eggtooth.engine.pedigree.segregation import autosomal, sex_linked
from tests.oracles.enumeration import enumerate_worlds
from tests.oracles.random_families import random_family

LOCI = {
    "two alleles": (autosomal(2), None, frozenset(), 8),
    "a complex of three alleles": (autosomal(3), None, frozenset(), 5),
    "lost when homozygous": (autosomal(2, ((1, 1),)), None, frozenset({(1, 1)}), 7),
    "sex-linked": (sex_linked(2, 0.07), 0.07, frozenset(), 6),
}


def labels(segregation):
    sexes = [("M" if s else "F") if segregation.sex_linked else "" for s in segregation.can_sire]
    return list(zip(sexes, segregation.genotypes, strict=True))


@pytest.mark.parametrize("name", LOCI)
@pytest.mark.parametrize("batch", range(3))
def test_equals_enumeration(name: str, batch: int) -> None:
    """40 families a batch, 120 a kind of locus, most of them with uncertain sires."""
    segregation, recombination, dead, animals = LOCI[name]
    rng = np.random.default_rng([batch, len(name)])
    for case in range(40):
        family = random_family(rng, segregation, animals, founders=3, picks=case % 3)
        p, chance, picked = enumerate_worlds(family, labels(segregation), recombination, dead)
        if chance == 0:
            with pytest.raises(Impossible):
                posterior(family)
            continue
        found = posterior(family)
        np.testing.assert_allclose(found.p, p, rtol=0, atol=1e-9)
        assert found.log_evidence == pytest.approx(np.log(chance), abs=1e-9)
        for mine, theirs in zip(found.picked, picked, strict=True):
            np.testing.assert_allclose(mine, theirs, rtol=0, atol=1e-9)


GOLDEN = json.loads((Path(__file__).parent / "golden" / "pedigree_pgmpy.json").read_text())


@pytest.mark.parametrize("number", range(len(GOLDEN)))
def test_equals_a_general_library(number: int) -> None:
    """Families of 14 with loops, answered by pgmpy 1.1.2 (see tests/oracles/make_pedigree_golden.py)."""
    known = GOLDEN[number]
    sire, dam = np.array(known["sire"]), np.array(known["dam"])
    found = posterior(Family(autosomal(known["alleles"]), sire, dam, np.array(known["table"])))
    np.testing.assert_allclose(found.p, known["p"], rtol=0, atol=1e-9)
