"""A colony bred as the invented house breeds: its founders' genes, its inheritance, its shares of males and
females, its keeper's choice of young.

Living 10,000 animals day by day costs the house about 20 ms an animal and year (`benchmarks.simulating`),
hours for 12 generations; so only its genes are used here, a generation at a time. Its eight autosomal loci
of one variant stand in for 60 by being drawn again and again; its sex-linked locus and its two-variant
locus are left out, so that a rival that knows neither can answer the same question. Sires are known.
"""

from __future__ import annotations

import numpy as np

from benchmarks.pedigree_colony import Bred
from eggtooth.engine.simulate import genes

PLAIN = [i for i, locus in enumerate(genes.LOCI) if not locus.sex_linked and len(locus.alleles) == 1]
MALES, FEMALES = 0.235, 0.50
"""Shares of the house that breed; see `engine.simulate.stock`."""
EGGS, KEPT = (4, 9), 3
"""Eggs of a clutch (from, below), and the most the keeper keeps of one, the showiest first."""


def breed_house(seed: int, animals: int = 10_000, generations: int = 12, loci: int = 60) -> Bred:
    """Breed the house; young of a generation are paired among themselves and with the generation before."""
    rng = np.random.default_rng(seed)
    per, panels = animals // generations, -(-loci // len(PLAIN))
    drawn = [genes.founders(rng, per) for _ in range(panels)]
    genomes = np.concatenate([g[:, PLAIN] for g, _ in drawn], axis=1)[:, :loci]
    recessive = np.array([genes.LOCI[i].recessive for i in PLAIN] * panels)[:loci]
    dominant = np.array([genes.LOCI[i].mode == "dominant" for i in PLAIN] * panels)[:loci]
    claims = [_claimed(c) for _, c in drawn]
    prior = _said((genomes > 0).sum(axis=2), np.concatenate(claims, axis=1)[:, :loci], recessive, dominant)
    sexes = rng.integers(2, size=per)
    sire, dam = [np.full(per, -1)], [np.full(per, -1)]
    pool = np.arange(per)
    for generation in range(1, generations):
        size = animals - len(genomes) if generation == generations - 1 else per
        young = _young(rng, genomes, sexes, pool, size, recessive)
        first = len(genomes)
        genomes, sexes = np.concatenate([genomes, young[0]]), np.concatenate([sexes, young[1]])
        sire.append(young[2])
        dam.append(young[3])
        pool = np.concatenate([np.arange(first, len(genomes)), rng.choice(pool, per // 4, replace=False)])
    copies = (genomes > 0).sum(axis=2)
    looked = rng.random(len(copies)) < 0.96
    return Bred(np.concatenate(sire), np.concatenate(dam), copies, recessive, looked, prior, sexes, dominant)


def _claimed(claims: np.ndarray) -> np.ndarray:
    """A panel's claims of its plain loci; 1 for those that show."""
    out = np.ones((len(claims), len(PLAIN)))
    for k, i in enumerate(genes.RECESSIVE):
        out[:, PLAIN.index(i)] = claims[:, k]
    return out


def _said(copies: np.ndarray, claims: np.ndarray, recessive: np.ndarray, dominant: np.ndarray) -> np.ndarray:
    """Chance of each count of copies by what is said of founders, shape [founders, L, 3].

    What shows is said as it is (a dominant one as one copy); a carrier is as its seller claims, who may be
    wrong.
    """
    out = np.eye(3)[np.where(dominant, np.minimum(copies, 1), copies)]
    hidden = recessive[None] & (copies < 2)
    out[hidden] = np.stack([1 - claims, claims, 0 * claims], axis=2)[hidden]
    return out


def _young(
    rng: np.random.Generator,
    genomes: np.ndarray,
    sexes: np.ndarray,
    pool: np.ndarray,
    size: int,
    recessive: np.ndarray,
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Kept young: genomes, sexes, sires, dams; clutch by clutch until there are enough."""
    males = rng.permutation(pool[sexes[pool] == genes.MALE])[: round(MALES * len(pool))]
    females = rng.permutation(pool[sexes[pool] == genes.FEMALE])[: round(FEMALES * len(pool))]
    rows: list[tuple[np.ndarray, int, int]] = []
    for turn in range(4):
        for dam in females.tolist():
            sire = int(males[(dam + turn) % len(males)])
            eggs = int(rng.integers(*EGGS))
            sides = rng.integers(2, size=(2, eggs, genomes.shape[1]))
            loci = np.arange(genomes.shape[1])
            clutch = np.stack([genomes[dam][loci, sides[0]], genomes[sire][loci, sides[1]]], axis=2)
            copies = (clutch > 0).sum(axis=2)
            shows = np.where(recessive, copies == 2, copies > 0).sum(axis=1)
            rows += [(clutch[k], sire, dam) for k in np.argsort(-shows, kind="stable")[:KEPT]]
            if len(rows) >= size:
                break
        if len(rows) >= size:
            break
    rows = rows[:size]
    made = np.stack([row[0] for row in rows])
    return made, rng.integers(2, size=size), np.array([r[1] for r in rows]), np.array([r[2] for r in rows])
