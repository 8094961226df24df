"""Sampled answers lie within their stated error of the exact ones."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.pedigree_colony import breed

from eggtooth.engine.pedigree.blocks import cutsets
from eggtooth.engine.pedigree.elimination import TooTangled
from eggtooth.engine.pedigree.family import Family
from eggtooth.engine.pedigree.peeling import posterior
from eggtooth.engine.pedigree.pieces import Piece, Tangle
from eggtooth.engine.pedigree.sampling import sample
from eggtooth.engine.pedigree.segregation import autosomal, sex_linked
from tests.oracles.random_families import random_family


def sampled(family: Family, seed: int = 1):
    """Force sampling by a budget nothing fits."""
    used: list[Tangle] = []

    def sampler(tangle: Tangle) -> Piece:
        used.append(tangle)
        return sample(tangle, np.random.default_rng(seed), shell_cells=8)

    found = posterior(family, budget=100, sampler=sampler)
    assert used
    return found


def test_within_its_error_in_a_bred_colony() -> None:
    """A recessive locus of a colony of 1,500 with half-sib loops: z scores like a standard normal's, or
    smaller."""
    bred = breed(3, animals=1500, generations=6, loci=12, sires=4, dams=30)
    family = bred.family(9)
    exact, found = posterior(family), sampled(family)
    assert found.error is not None
    unsure = found.error > 1e-9
    z = (found.p - exact.p)[unsure] / (found.error[unsure] + 1e-4)
    assert unsure.sum() > 100
    assert np.sqrt((z**2).mean()) < 1.5
    assert abs(found.p - exact.p).max() < 0.06


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("segregation", [autosomal(3), sex_linked(2, 0.07)], ids=["complex", "sex-linked"])
def test_other_kinds_of_locus(seed: int, segregation) -> None:
    """Complexes, sex linkage and uncertain sires, where the sparse start does not apply."""
    rng = np.random.default_rng(seed)
    while True:
        family = random_family(rng, segregation, 14, founders=4, picks=2)
        try:
            exact = posterior(family, budget=100_000)
            found = sampled(family)
        except (ValueError, AssertionError):
            continue
        break
    assert abs(found.p - exact.p).max() < 0.12
    for mine, theirs in zip(found.picked, exact.picked, strict=True):
        assert abs(mine - theirs).max() < 0.12


def test_without_a_sampler_it_is_refused() -> None:
    """A family beyond the budget raises rather than guessing."""
    bred = breed(3, animals=1500, generations=6, loci=12, sires=4, dams=30)
    with pytest.raises(TooTangled, match="budget"):
        posterior(bred.family(9), budget=100)


def test_every_unknown_moves_in_some_cutset() -> None:
    """No unknown is held in all cutsets, so that none keeps the state it started in."""
    rng = np.random.default_rng(0)
    sizes = dict.fromkeys(range(120), 2)
    scopes = [tuple(sorted(rng.choice(120, size=4, replace=False).tolist())) for _ in range(700)]
    cuts = list(cutsets(sizes, scopes, rng, 4))
    assert len(cuts) > 4
    assert {v for order, _ in cuts for v in order} == set(sizes)
    assert all(len(order) < len(sizes) for order, _ in cuts)
