"""True genes of the invented animals, their inheritance by Mendel, and how the keeper writes them down.

A sampler of its own, apart from the engine's genetics, so that the one can be checked against the other.
A genome is an array (loci, 2): the allele from the dam, the allele from the sire; 0 is the wild type.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Genomes = NDArray[np.int8]
Claims = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Locus:
    """One locus: its alleles' trade names, how two copies are called, and how common it is in founders."""

    alleles: tuple[str, ...]
    mode: str
    one_copy: float
    two_copies: float
    sex_linked: bool = False

    @property
    def recessive(self) -> bool:
        """Whether one copy cannot be seen."""
        return self.mode == "recessive"


LOCI = (
    Locus(("Banana",), "incomplete", 0.14, 0.0, sex_linked=True),
    Locus(("Pastel",), "incomplete", 0.26, 0.04),
    Locus(("Enchi",), "incomplete", 0.18, 0.02),
    Locus(("Orange Dream",), "incomplete", 0.12, 0.01),
    Locus(("Pinstripe",), "dominant", 0.12, 0.01),
    Locus(("Lesser", "Mojave"), "incomplete", 0.22, 0.0),
    Locus(("Fire",), "incomplete", 0.12, 0.01),
    Locus(("Clown",), "recessive", 0.30, 0.14),
    Locus(("Piebald",), "recessive", 0.24, 0.10),
    Locus(("Desert Ghost",), "recessive", 0.14, 0.05),
)
RECESSIVE = tuple(i for i, locus in enumerate(LOCI) if locus.recessive)
SEX_LINKED = next(i for i, locus in enumerate(LOCI) if locus.sex_linked)

RECOMBINES = 0.07
"""Crossing over between the Banana locus and the sex locus in a male (a working assumption, no source)."""

FEMALE, MALE = 0, 1


def founders(rng: np.random.Generator, n: int) -> tuple[Genomes, Claims]:
    """Genomes of `n` unrelated animals, and what their sellers said of recessive carriers, as chances.

    One carrier in ten came with `66% het` only, and one animal in thirty with a claim that is wrong.
    """
    genomes = np.zeros((n, len(LOCI), 2), dtype=np.int8)
    for i, locus in enumerate(LOCI):
        copies = rng.choice(3, n, p=[1 - locus.one_copy - locus.two_copies, locus.one_copy, locus.two_copies])
        allele = 1 + rng.integers(len(locus.alleles), size=n)
        side = rng.integers(2, size=n)
        genomes[np.arange(n), i, side] = np.where(copies > 0, allele, 0)
        genomes[:, i, :] = np.where(copies[:, None] == 2, allele[:, None], genomes[:, i, :])
    return genomes, _said(rng, genomes)


def _said(rng: np.random.Generator, genomes: Genomes) -> Claims:
    carrier = (genomes[:, RECESSIVE, :] > 0).sum(axis=2) == 1
    unsure = rng.random(carrier.shape) < 0.1
    false_het = ~carrier & (rng.random(carrier.shape) < 0.03)
    claims: Claims = np.where(carrier, np.where(unsure, 2 / 3, 1.0), np.where(false_het, 1.0, 0.0))
    return claims


def offspring(
    rng: np.random.Generator, dam: Genomes, sire: Genomes, n: int
) -> tuple[Genomes, NDArray[np.int64]]:
    """Genomes and sexes (0 female, 1 male) of `n` eggs of one dam and one sire."""
    loci = np.arange(len(LOCI))
    sexes = rng.integers(2, size=n)
    from_dam = dam[loci, rng.integers(2, size=(n, len(LOCI)))]
    side = rng.integers(2, size=(n, len(LOCI)))
    crossed = rng.random(n) < RECOMBINES
    side[:, SEX_LINKED] = np.where(crossed, 1 - sexes, sexes)
    return np.stack([from_dam, sire[loci, side]], axis=2), sexes


def shows(genomes: Genomes) -> NDArray[np.bool_]:
    """Which recessives are shown, shape (animals, recessives)."""
    both = genomes[:, RECESSIVE, :] > 0
    return np.asarray(both.all(axis=2))


def inherited_claims(dams: Claims, sires: Claims) -> Claims:
    """Chance that an offspring which does not show a recessive carries it, from the chances of the parents.

    A parent's chance is of handing the allele on: 1 for a visual, half of its claim for the rest.
    """
    carries = dams * (1 - sires) + sires * (1 - dams)
    claims: Claims = np.where(dams * sires < 1, carries / np.maximum(1 - dams * sires, 1e-9), 1.0)
    return claims


def hands_on(genomes: Genomes, claims: Claims) -> Claims:
    """Chance, as the keeper sees it, that an animal hands a recessive on."""
    handed: Claims = np.where(shows(genomes), 1.0, claims / 2)
    return handed


def trade_text(genome: Genomes, claims: Claims) -> str:
    """One animal's look and hets in trade notation, e.g. `Pastel Clown het Piebald`; `Normal` if nothing."""
    seen = [
        _look(locus, *sorted(pair, reverse=True)) for locus, pair in zip(LOCI, genome.tolist(), strict=True)
    ]
    hets = [
        _het(float(claims[j]), LOCI[i].alleles[0])
        for j, i in enumerate(RECESSIVE)
        if not (genome[i] > 0).all()
    ]
    return " ".join(filter(None, (*seen, *hets))) or "Normal"


def _look(locus: Locus, more: int, less: int) -> str:
    if more == 0 or (locus.recessive and less == 0):
        return ""
    name = locus.alleles[more - 1]
    if less == 0 or locus.mode != "incomplete":
        return name
    return f"Super {name}" if less == more else f"{locus.alleles[less - 1]} {name}"


def _het(chance: float, name: str) -> str:
    percent = int(chance * 100)
    return "" if percent < 20 else f"het {name}" if percent == 100 else f"{percent}% het {name}"
