"""Paternity by the engine's own segregation and sums, against published formulas and printed examples."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from eggtooth.engine.pedigree.family import Family, Pick
from eggtooth.engine.pedigree.peeling import posterior
from eggtooth.engine.pedigree.segregation import autosomal

ALLELES = [(0.5, 0.5), (0.7, 0.3), (0.5, 0.3, 0.2), (0.25,) * 4]
PRINTED = [(0.1875, 0.1250, 0.28125), (0.1659, 0.0882, 0.255066), (0.3360, 0.1922, 0.485946),
           (0.503906, 0.328125, 0.676758)]  # fmt: skip


def founder(frequencies: Sequence[float]) -> np.ndarray:
    """Hardy-Weinberg odds in the engine's order of genotypes."""
    pairs = autosomal(len(frequencies)).genotypes
    return np.array([frequencies[a] * frequencies[b] * (1 if a == b else 2) for a, b in pairs])


def excluded(frequencies: Sequence[float]) -> tuple[float, float, float]:
    """Chance that the engine's segregation rules out a random male, beside a known and an unknown other
    parent, and a random pair, all genotypes seen."""
    offspring, odds = autosomal(len(frequencies)).offspring, founder(frequencies)
    trio = np.einsum("s,d,sdc->dc", odds, odds, offspring)
    can = offspring > 0
    known = np.einsum("dc,m,mdc->", trio, odds, ~can)
    unknown = trio.sum(axis=0) @ (odds @ ~can.any(axis=1))
    pair = np.einsum("c,m,d,mdc->", trio.sum(axis=0), odds, odds, ~can)
    return float(known), float(unknown), float(pair)


@pytest.mark.parametrize(("frequencies", "printed"), list(zip(ALLELES, PRINTED, strict=True)))
def test_average_exclusion(frequencies: Sequence[float], printed: tuple[float, float, float]) -> None:
    """Jamieson & Taylor 1997, Anim. Genet. 28:397-400, their three formulas (from memory) and values."""
    s2, s3, s4, s5, s6 = (sum(p**k for p in frequencies) for k in range(2, 7))
    formulas = (
        1 - 2 * s2 + s3 + 2 * s4 - 3 * s5 - 2 * s2**2 + 3 * s2 * s3,
        1 - 4 * s2 + 2 * s2**2 + 4 * s3 - 3 * s4,
        1 + 4 * s4 - 4 * s5 - 3 * s6 - 8 * s2**2 + 8 * s2 * s3 + 2 * s3**2,
    )
    assert excluded(frequencies) == pytest.approx(formulas, abs=1e-12)
    assert excluded(frequencies) == pytest.approx(printed, abs=5e-5)


def test_five_loci_together() -> None:
    """Loci combine as 1 - product(1 - P): five of four equal alleles, other parent known, 0.969952."""
    known = excluded((0.25,) * 4)[0]
    assert 1 - (1 - known) ** 5 == pytest.approx(0.969952, abs=5e-7)


Genotype = tuple[int, int]
CASE: list[tuple[Genotype, Genotype, Genotype, dict[int, float], float]] = [
    ((16, 16), (16, 16), (15, 16), {16: 0.2315}, 2.1598),
    ((17, 18), (17, 18), (18, 20), {17: 0.2627, 18: 0.2219}, 1.0317),
    ((25, 27), (23, 25), (21, 23), {23: 0.1581}, 3.1625),
    ((14, 18), (18, 18), (18, 20), {18: 0.0918}, 5.4466),
]
"""Mother, child, alleged father, frequencies of the alleles that count, and the printed index."""


def sired(locus: int, prior: float) -> float:
    """P(the alleged father is the sire) at one locus, by the engine: a pick between him and a random male."""
    mother, child, alleged, known, _ = CASE[locus]
    names = sorted({*mother, *child, *alleged, *known})
    share = (1 - sum(known.values())) / (len(names) - len(known) + 1)
    odds = founder([*(known.get(n, share) for n in names), share])
    segregation = autosomal(len(names) + 1)
    seen = [np.array([sorted(names.index(x) for x in g) == sorted(pair) for pair in segregation.genotypes])
            for g in (mother, alleged, child)]  # fmt: skip
    table = np.array([seen[0], seen[1], odds, np.ones(len(odds)), seen[2]], dtype=float)
    pick = Pick(3, np.array([1, 2]), np.array([prior, 1 - prior]))
    family = Family(segregation, np.array([-1, -1, -1, -1, 3]), np.array([-1, -1, -1, -1, 0]), table, [pick])
    return float(posterior(family).picked[0][0])


@pytest.mark.parametrize("locus", range(4))
def test_paternity_index(locus: int) -> None:
    """US National Institute of Justice course, "Paternity Calculations": printed indices of four loci."""
    p = sired(locus, 0.5)
    assert p / (1 - p) == pytest.approx(CASE[locus][4], abs=1e-4)


def test_combined_index() -> None:
    """The same: 38.3815 printed from rounded factors, 38.3858 unrounded; with prior 1/2 0.97461."""
    p = 0.5
    for locus in range(4):
        p = sired(locus, p)
    assert p / (1 - p) == pytest.approx(38.3858, abs=1e-3)
    assert p == pytest.approx(0.97461, abs=5e-6)


@pytest.mark.parametrize(
    ("priors", "expected"),
    [((1 / 3, 1 / 3, 1 / 3), (0.28531, 0.71327, 0.00143)), ((0.45, 0.45, 0.1), (0.28562, 0.71406, 0.00032))],
)
def test_two_candidates_are_weighed_together(priors: tuple[float, ...], expected: tuple[float, ...]) -> None:
    """C. H. Brenner, "Paternity probabilities when there are many hypotheses": indices of 200 and 500 read
    apart give 99.5 % and 99.8 %, which cannot both be. The young shows an allele that sires carry in two
    copies with chances 0.2, 0.5 and 0.001: indices of 200 and 500 against another."""
    rows = [[1 - q, 0, q] for q in (0.2, 0.5, 0.001)]
    table = np.array([*rows, [1, 0, 0], [1, 1, 1], [0, 1, 0]], dtype=float)
    pick = Pick(4, np.arange(3), np.array(priors))
    none = [-1] * 5
    family = Family(autosomal(2), np.array([*none, 4]), np.array([*none, 3]), table, [pick])
    assert posterior(family).picked[0] == pytest.approx(expected, abs=5e-6)
