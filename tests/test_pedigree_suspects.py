"""A wrong sire is among few suspects; a right colony has none."""

from __future__ import annotations

import numpy as np
from validation.wrong_sires import case

from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.pedigree.suspects import suspects
from tests.pedigree_colonies import CATALOGUE, colony


def test_a_clutch_that_shows_another_males_gene() -> None:
    """Six young, three with a gene only the other male has."""
    lines = [("D", "F", "Normal"), ("S1", "M", "Normal"), ("S2", "M", "Pastel")]
    looks = ["Pastel"] * 3 + ["Normal"] * 3
    right = [(f"r{i}", "", look, "S2", "D", "A") for i, look in enumerate(looks)]
    wrong = [(f"w{i}", "", look, "S1", "D", "B") for i, look in enumerate(looks)]
    (found,) = suspects(colony(*lines, *right, *wrong), CATALOGUE)
    assert (found.sire, found.better, found.loci) == ("S1", ("S2",), ("Pastel",))
    assert found.p_wrong > 0.9
    assert "w0" in found.text
    assert suspects(colony(*lines, *right), CATALOGUE) == []


def test_named_in_simulated_colonies() -> None:
    """Among the first detectable of a few simulated colonies (the whole count is in validation)."""
    cases = [c for c in map(case, range(4)) if c.log_ratio > np.log(1000)]
    hits = [any(set(s.eggs) == c.eggs for s in suspects(c.colony, standard())) for c in cases]
    assert len(cases) >= 2
    assert all(hits)
