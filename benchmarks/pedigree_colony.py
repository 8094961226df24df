"""A random colony for timings: few males over many females, full clutches, looks noted, loops by the dozen.

The breeder keeps animals that show or surely carry something, as breeders do. Everything is drawn from one
seed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from eggtooth.engine.pedigree.family import Family
from eggtooth.engine.pedigree.segregation import autosomal


@dataclass(frozen=True)
class Bred:
    """Truth and records of n animals at L loci of two alleles.

    `sire`, `dam` [n] (-1: founder); `copies` [n, L] true; `recessive` [L]; `looked` [n]: the look was noted;
    `prior` [founders, L, 3]: what is said of each founder.
    """

    sire: np.ndarray
    dam: np.ndarray
    copies: np.ndarray
    recessive: np.ndarray
    looked: np.ndarray
    prior: np.ndarray
    sex: np.ndarray
    """0 female, 1 male."""
    dominant: np.ndarray
    """Loci at which one copy and two look the same, shape [L]."""

    def family(self, locus: int) -> Family:
        """The records of one locus as a question."""
        segregation = autosomal(2)
        truth = self.copies[:, locus]
        look = np.arange(3)
        if self.recessive[locus] or self.dominant[locus]:
            look = look == 2 if self.recessive[locus] else look > 0
        fits = (look[truth][:, None] == look[None, :]).astype(float)
        table = np.where(self.looked[:, None], fits, 1.0)
        table[: len(self.prior)] = self.prior[:, locus]
        return Family(segregation, self.sire, self.dam, table)


def breed(
    seed: int, animals: int = 10_000, generations: int = 12, loci: int = 60, sires: int = 25, dams: int = 125
) -> Bred:
    """Breed a colony. A third of the loci are recessive; a founder carries about three genes, some
    'possible'."""
    rng = np.random.default_rng(seed)
    recessive = np.arange(loci) % 3 == 0
    per = animals // generations
    copies, prior = _founders(rng, per, loci, recessive)
    sire, dam = [np.full(per, -1)], [np.full(per, -1)]
    for generation in range(1, generations):
        first = max(0, generation - 2) * per
        pool = np.arange(first, generation * per)
        value = ((copies[pool] > 0) * rng.random((len(pool), loci))).sum(axis=1) + rng.random(len(pool))
        best = pool[np.argsort(-value)]
        male = best[best % 2 == 0][:sires]
        female = best[best % 2 == 1][:dams]
        size = animals - per * (generations - 1) if generation == generations - 1 else per
        mother = np.sort(female[np.arange(size) % dams])
        father_of = dict(zip(female.tolist(), rng.choice(male, len(female)).tolist(), strict=True))
        father = np.array([father_of[m] for m in mother.tolist()])
        copies = np.concatenate([copies, _gamete(rng, copies[father]) + _gamete(rng, copies[mother])])
        sire.append(father)
        dam.append(mother)
    looked = rng.random(len(copies)) < 0.95
    sex = 1 - np.arange(len(copies)) % 2
    none = np.zeros(loci, dtype=bool)
    return Bred(np.concatenate(sire), np.concatenate(dam), copies, recessive, looked, prior, sex, none)


def _founders(
    rng: np.random.Generator, count: int, loci: int, recessive: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    copies = np.zeros((count, loci), dtype=np.int64)
    prior = np.zeros((count, loci, 3))
    prior[:, :, 0] = 1
    for row in range(count):
        for locus in rng.choice(loci, size=int(rng.integers(0, 6)), replace=False):
            p = float(rng.choice([1, 0.5, 2 / 3])) if recessive[locus] else 1.0
            both = recessive[locus] and rng.random() < 0.3
            prior[row, locus] = [0, 0, 1] if both else [1 - p, p, 0]
            copies[row, locus] = 2 if both else int(rng.random() < p)
    return copies, prior


def young_of(bred: Bred, sire: int, dam: int, count: int, rng: np.random.Generator) -> np.ndarray:
    """True copies of some young of two animals, shape [count, L]."""
    both = [np.repeat(bred.copies[parent][None], count, axis=0) for parent in (sire, dam)]
    return _gamete(rng, both[0]) + _gamete(rng, both[1])


def _gamete(rng: np.random.Generator, copies: np.ndarray) -> np.ndarray:
    return (rng.random(copies.shape) < copies / 2).astype(np.int64)
