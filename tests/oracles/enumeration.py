"""Posterior genotypes by writing down every possible world, from Mendel's rule alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import product

import numpy as np

from eggtooth.engine.pedigree.family import Family

Genotype = tuple[int, int]


def births(sire: Genotype, dam: Genotype, recombination: float | None) -> dict[tuple[str, Genotype], float]:
    """Chance of each (sex, genotype) of a zygote; `recombination` None for an autosome (sex then '')."""
    out: dict[tuple[str, Genotype], float] = defaultdict(float)
    for egg in dam:
        if recombination is None:
            for sperm in sire:
                out["", (min(sperm, egg), max(sperm, egg))] += 0.25
            continue
        on_x, on_y = sire
        for sperm, chromosome, p in (
            (on_x, "X", (1 - recombination) / 2),
            (on_y, "X", recombination / 2),
            (on_y, "Y", (1 - recombination) / 2),
            (on_x, "Y", recombination / 2),
        ):
            if chromosome == "X":
                out["F", (min(sperm, egg), max(sperm, egg))] += p / 2
            else:
                out["M", (egg, sperm)] += p / 2
    return out


def enumerate_worlds(
    family: Family,
    labels: list[tuple[str, Genotype]],
    recombination: float | None,
    dead: frozenset[Genotype] = frozenset(),
) -> tuple[np.ndarray, float, list[np.ndarray]]:
    """Posterior [n, S], chance of the evidence, and posterior odds of each pick, by full enumeration."""
    p = np.zeros_like(family.table)
    picked = [np.zeros(len(pick.odds)) for pick in family.picks]
    for choice in product(*(range(len(pick.odds)) for pick in family.picks)):
        weight = float(np.prod([pick.odds[c] for pick, c in zip(family.picks, choice, strict=True)]))
        stands_for = {q.row: int(q.candidates[c]) for q, c in zip(family.picks, choice, strict=True)}
        for world, chance in _worlds(family, labels, recombination, dead, stands_for):
            p[np.arange(len(world)), world] += weight * chance
            for mine, c in zip(picked, choice, strict=True):
                mine[c] += weight * chance
    total = p[0].sum()
    if total == 0:
        return p, 0.0, picked
    return p / total, float(total), [mine / total for mine in picked]


def _worlds(
    family: Family,
    labels: list[tuple[str, Genotype]],
    recombination: float | None,
    dead: frozenset[Genotype],
    stands_for: dict[int, int],
) -> Iterator[tuple[list[int], float]]:
    index = {label: i for i, label in enumerate(labels)}
    cache: dict[tuple[int, int], dict[int, float]] = {}

    def hatch(sire: int, dam: int) -> dict[int, float]:
        if (sire, dam) not in cache:
            (sex_s, s), (sex_d, d) = labels[sire], labels[dam]
            if sex_s == "F" or sex_d == "M":
                cache[sire, dam] = {}
            else:
                zygotes = births(s, d, recombination)
                alive = {k: v for k, v in zygotes.items() if tuple(sorted(k[1])) not in dead}
                whole = sum(alive.values())
                cache[sire, dam] = {index[k]: v / whole for k, v in alive.items()}
        return cache[sire, dam]

    def go(row: int, world: list[int], chance: float) -> Iterator[tuple[list[int], float]]:
        if row == len(family.sire):
            yield world, chance
            return
        if row in stands_for:
            options = {world[stands_for[row]]: 1.0}
        elif family.sire[row] < 0:
            options = dict.fromkeys(range(len(labels)), 1.0)
        else:
            options = hatch(world[family.sire[row]], world[family.dam[row]])
        for state, p in options.items():
            here = chance * p * float(family.table[row, state])
            if here > 0:
                yield from go(row + 1, [*world, state], here)

    yield from go(0, [], 1.0)
