"""Inheritance in the invented colony against Mendel's shares, by chi-square; and how looks are written."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from eggtooth.engine.simulate.genes import (
    LOCI,
    RECESSIVE,
    RECOMBINES,
    SEX_LINKED,
    Genomes,
    founders,
    hands_on,
    inherited_claims,
    offspring,
    shows,
    trade_text,
)

NAMES = [locus.alleles[0] for locus in LOCI]
CLOWN, PASTEL, BLUE = NAMES.index("Clown"), NAMES.index("Pastel"), NAMES.index("Lesser")
N = 20_000


def genome(**loci: tuple[int, int]) -> Genomes:
    one = np.zeros((len(LOCI), 2), dtype=np.int8)
    for name, pair in loci.items():
        one[NAMES.index(name.replace("_", " "))] = pair
    return one


def young(dam: Genomes, sire: Genomes, seed: int = 1) -> tuple[Genomes, np.ndarray]:
    return offspring(np.random.default_rng(seed), dam, sire, N)


def fits(counts: list[int], shares: list[float]) -> bool:
    """Whether counts go with shares; a single class can only be full."""
    return len(counts) == 1 or bool(stats.chisquare(counts, np.array(shares) * sum(counts)).pvalue > 1e-4)


@pytest.mark.parametrize(
    ("dam", "sire", "shares"),
    [
        ((1, 0), (0, 1), [1 / 4, 1 / 2, 1 / 4]),
        ((1, 1), (0, 1), [0, 1 / 2, 1 / 2]),
        ((1, 0), (0, 0), [1 / 2, 1 / 2, 0]),
        ((1, 1), (1, 1), [0, 0, 1]),
    ],
)
def test_one_locus(dam: tuple[int, int], sire: tuple[int, int], shares: list[float]) -> None:
    """1:2:1 and its relatives (Mendel 1866)."""
    copies = (young(genome(Clown=dam), genome(Clown=sire))[0][:, CLOWN] > 0).sum(axis=1)
    counts = np.bincount(copies, minlength=3)
    assert all(c == 0 for c, s in zip(counts, shares, strict=True) if s == 0)
    assert fits([c for c, s in zip(counts, shares, strict=True) if s], [s for s in shares if s])


def test_two_loci_are_independent() -> None:
    """9:3:3:1 (Mendel 1866)."""
    het = genome(Clown=(1, 0), Piebald=(0, 1))
    seen = shows(young(het, het)[0])
    at = [RECESSIVE.index(NAMES.index(n)) for n in ("Clown", "Piebald")]
    kinds = 2 * seen[:, at[0]] + seen[:, at[1]]
    assert fits(list(np.bincount(kinds, minlength=4)), [9 / 16, 3 / 16, 3 / 16, 1 / 16])


def test_two_alleles_of_one_locus() -> None:
    """Lesser x Mojave: a quarter each of Lesser Mojave, Lesser, Mojave and neither (Mendel 1866)."""
    pairs = young(genome(Lesser=(1, 0)), genome(Lesser=(2, 0)))[0][:, BLUE]
    assert fits(list(np.bincount(pairs[:, 0] + pairs[:, 1], minlength=4)), [1 / 4] * 4)


def test_sexes_are_even() -> None:
    """XX and XY give even sexes (Gamble et al. 2017)."""
    sexes = young(genome(), genome())[1]
    assert fits(list(np.bincount(sexes)), [1 / 2, 1 / 2])


@pytest.mark.parametrize(("side", "sons"), [(1, 1 - RECOMBINES), (0, RECOMBINES)])
def test_banana_follows_the_sire_chromosome(side: int, sons: float) -> None:
    """A male that had Banana from his sire gives it to sons, one that had it from his dam to daughters.

    Direction: Mallery & Carrillo 2016; the share that crosses over is a working assumption.
    """
    sire = genome()
    sire[SEX_LINKED, side] = 1
    genomes, sexes = young(genome(), sire)
    banana = genomes[:, SEX_LINKED, 1] > 0
    for sex, share in ((1, sons), (0, 1 - sons)):
        carried = int(banana[sexes == sex].sum())
        assert fits([carried, int((sexes == sex).sum()) - carried], [share, 1 - share])


@pytest.mark.parametrize(
    ("pairs", "claims", "text"),
    [
        ({}, {}, "Normal"),
        ({"Pastel": (1, 0)}, {}, "Pastel"),
        ({"Pastel": (1, 1)}, {}, "Super Pastel"),
        ({"Pinstripe": (1, 1)}, {}, "Pinstripe"),
        ({"Lesser": (2, 1)}, {}, "Lesser Mojave"),
        ({"Clown": (1, 1), "Pastel": (0, 1)}, {}, "Pastel Clown"),
        ({"Banana": (1, 0)}, {"Piebald": 1.0}, "Banana het Piebald"),
        ({}, {"Clown": 2 / 3}, "66% het Clown"),
        ({"Clown": (1, 1)}, {"Clown": 1.0, "Piebald": 0.5}, "Clown 50% het Piebald"),
        ({"Clown": (1, 0)}, {}, "Normal"),
    ],
)
def test_trade_text(pairs: dict[str, tuple[int, int]], claims: dict[str, float], text: str) -> None:
    said = np.zeros(len(RECESSIVE))
    for name, chance in claims.items():
        said[RECESSIVE.index(NAMES.index(name))] = chance
    assert trade_text(genome(**pairs), said) == text


def test_trade_text_is_read_by_the_engine() -> None:
    from eggtooth.engine.genetics.notation import read

    genomes, claims = founders(np.random.default_rng(5), 300)
    for one, said in zip(genomes, claims, strict=True):
        read(trade_text(one, said))


def test_claims_of_offspring() -> None:
    """Two hets give 66 %, a het and a normal 50 %, a visual and a normal 100 % (trade terms; computed)."""
    het, visual, none = np.array([0.5]), np.array([1.0]), np.array([0.0])
    assert inherited_claims(het, het)[0] == pytest.approx(2 / 3)
    assert inherited_claims(het, none)[0] == pytest.approx(1 / 2)
    assert inherited_claims(visual, none)[0] == 1
    assert inherited_claims(none, none)[0] == 0


def test_claims_agree_with_breeding() -> None:
    """The claim of an uncertain het's young holds among ten thousands bred."""
    rng = np.random.default_rng(3)
    kids, _ = offspring(rng, genome(Clown=(1, 0)), genome(Clown=(0, 1)), N)
    hidden = kids[~shows(kids)[:, 0]]
    carriers = int((hidden[:, CLOWN] > 0).any(axis=1).sum())
    assert fits([carriers, len(hidden) - carriers], [2 / 3, 1 / 3])


def test_visuals_hand_on_surely() -> None:
    both = genome(Clown=(1, 1))[None]
    assert hands_on(both, np.zeros((1, len(RECESSIVE))))[0, 0] == 1


def test_founders_are_as_common_as_said() -> None:
    genomes, claims = founders(np.random.default_rng(6), N)
    for i, locus in enumerate(LOCI):
        counts = np.bincount((genomes[:, i] > 0).sum(axis=1), minlength=3)
        shares = [1 - locus.one_copy - locus.two_copies, locus.one_copy, locus.two_copies]
        assert fits([c for c, s in zip(counts, shares, strict=True) if s], [s for s in shares if s])
    false = (claims == 1) & ((genomes[:, RECESSIVE] > 0).sum(axis=2) == 0)
    assert 0.01 < false.mean() < 0.04
