"""Adding animals to an answered colony gives what a fresh answer gives."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.pedigree import one_clutch_more
from benchmarks.pedigree_colony import breed
from benchmarks.pedigree_records import genes_for, records

from eggtooth.engine.pedigree import sampling
from eggtooth.engine.pedigree.carriers import Carriers, carriers
from eggtooth.engine.pedigree.pieces import Core
from tests.pedigree_colonies import CATALOGUE, colony


def gaps(one: Carriers, other: Carriers) -> float:
    """Largest difference of any odds of any animal at any locus."""
    most = 0.0
    for tag in one.evidence.colony.animals:
        for name in {*one.loci, *other.loci}:
            a, b = one.odds(tag, name), other.odds(tag, name)
            most = max([most, *(abs(a.get(g, 0) - b.get(g, 0)) for g in {*a, *b})])
    return most


def cores(found: Carriers, locus: str) -> list[Core]:
    """What was drawn at a locus."""
    kept = found.loci[locus].kept
    return [piece.core for piece in (kept.pieces if kept else ()) if piece.core]


BASE = [("S", "M", "Pastel het Clown"), ("D", "F", "Fire 66% het Pied"), ("N", "F", "Normal"),
        ("U", "F", ""), ("k", "", "Normal", "", "N", "K"),
        ("a", "F", "Normal", "S", "D"), ("b", "M", "Pastel Fire", "S", "D")]  # fmt: skip
MORE = [
    [("c", "", "Pastel", "S", "N", "C"), ("d", "", "Normal", "S", "N", "C")],
    [("c", "", "Clown", "S", "a", "C"), ("d", "", "Fire", "b", "N", "E")],
    [("c", "M", "", "S", "N", "C"), ("d", "", "Pastel", "c", "N", "E")],
    [("c", "", "Piebald", "S", "D", "C")],
    [("c", "", "het Clown", "", "a", "C")],
    [("c", "", "Enchi", "S", "N", "C")],
    [("c", "", "Clown", "S", "U", "C")],
    [("c", "", "Pastel", "", "N", "K"), ("d", "", "Fire", "", "N", "K")],
]


@pytest.mark.parametrize("more", MORE)
def test_equals_a_fresh_answer(more: list[tuple[str, ...]]) -> None:
    """Young of certain parents, of uncertain ones, of new ones, and young that cannot be."""
    before = carriers(colony(*BASE), CATALOGUE)
    grown = colony(*BASE, *more)
    fresh = carriers(grown, CATALOGUE)
    found = carriers(grown, CATALOGUE, before=before)
    assert gaps(found, fresh) < 1e-12
    assert {c.records for c in found.contradictions} == {c.records for c in fresh.contradictions}


def test_worlds_weighed_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """A sampled family with a clutch more, against the exact answer; nothing is drawn anew."""
    monkeypatch.setattr(sampling, "SHELL_CELLS", 8)
    bred = breed(3, animals=1500, generations=6, loci=12, sires=4, dams=30)
    known, loci = genes_for(bred)
    mine = records(bred, loci)
    before = carriers(mine, known, budget=100)
    sampled = [name for name in before.loci if cores(before, name)]
    assert sampled
    grown = one_clutch_more(mine, bred, loci, int(bred.sire[-1]), int(bred.dam[-1]), np.random.default_rng(1))
    found, exact = carriers(grown, known, budget=100, before=before), carriers(grown, known)
    again = 0
    for name in sampled:
        a, b = found.loci[name], exact.loci[name]
        again += [
            c.worlds is d.worlds for c, d in zip(cores(found, name), cores(before, name), strict=True)
        ].count(True)
        order = [found.place(t, name) for t in grown.animals if exact.place(t, name) >= 0]
        assert abs(a.posterior.p[order] - b.posterior.p).max() < 0.08
    assert again == len(sampled)
    assert np.isfinite([float(x.posterior.p.sum()) for x in found.loci.values()]).all()
