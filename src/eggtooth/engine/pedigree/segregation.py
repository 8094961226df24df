"""How genotypes at one locus pass from two parents to an offspring, as tables."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import product
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

Genotype = tuple[int, int]
"""Two allele numbers, 0 = wild type. Autosomal and XX: sorted. XY: (on the X, on the Y), so the phase is
kept."""


@dataclass(frozen=True)
class Segregation:
    """The S genotypes of a locus with A alleles and their G gametes.

    `genotypes` [S]; `can_sire`, `can_dam` [S] (equal for an autosomal locus); `from_sire`, `from_dam` [S, G]:
    chance of each gamete; `state`, `paternal`, `maternal` [K]: every way two gametes make a genotype; `lives`
    [S]: chance that a zygote lives to hatch. `sex_linked` tells whether genotypes split by sex. Compare by
    identity: the tables are shared.
    """

    genotypes: tuple[Genotype, ...]
    can_sire: Bools
    can_dam: Bools
    from_sire: Floats
    from_dam: Floats
    state: Ints
    paternal: Ints
    maternal: Ints
    lives: Floats
    sex_linked: bool

    @cached_property
    def offspring(self) -> Floats:
        """P(genotype of a hatchling | sire, dam), shape [S, S, S]; a pair none of whose zygotes live gives
        zeros."""
        import numpy as np

        size = len(self.genotypes)
        out = np.zeros((size, size, size))
        for child, sperm, egg in zip(self.state, self.paternal, self.maternal, strict=True):
            out[:, :, child] += np.outer(self.from_sire[:, sperm], self.from_dam[:, egg])
        out *= self.lives
        total = out.sum(axis=2, keepdims=True)
        return np.asarray(np.divide(out, total, out=np.zeros_like(out), where=total > 0))

    def copies(self, allele: int) -> Ints:
        """Copies of an allele in each genotype, shape [S]."""
        import numpy as np

        return np.array([g.count(allele) for g in self.genotypes])


@lru_cache(maxsize=256)
def autosomal(alleles: int, dead: tuple[Genotype, ...] = ()) -> Segregation:
    """Segregation on an autosome; `dead` genotypes are lost before hatching."""
    import numpy as np

    genotypes = tuple((a, b) for a in range(alleles) for b in range(a, alleles))
    pass_on = np.array([[g.count(a) / 2 for a in range(alleles)] for g in genotypes])
    ways = [(genotypes.index((min(p, m), max(p, m))), p, m) for p, m in product(range(alleles), repeat=2)]
    return _segregation(genotypes, np.ones(len(genotypes), dtype=bool), pass_on, pass_on, ways, dead, False)


@lru_cache(maxsize=256)
def sex_linked(alleles: int, recombination: float, dead: tuple[Genotype, ...] = ()) -> Segregation:
    """Segregation on X and Y with recombination in males; females (XX) first, then males as (X allele, Y
    allele).

    Gametes 0..A-1 carry an X, A..2A-1 a Y. `ValueError` unless 0 <= recombination <= 1/2.
    """
    import numpy as np

    if not 0 <= recombination <= 0.5:
        raise ValueError(f"recombination fraction {recombination} is not in [0, 0.5]")
    females = [(a, b) for a in range(alleles) for b in range(a, alleles)]
    males = list(product(range(alleles), repeat=2))
    is_male = np.arange(len(females) + len(males)) >= len(females)
    sperm, eggs = np.zeros((len(is_male), 2 * alleles)), np.zeros((len(is_male), 2 * alleles))
    for i, (a, b) in enumerate(females):
        eggs[i, a] += 0.5
        eggs[i, b] += 0.5
    for i, (x, y) in enumerate(males, start=len(females)):
        for allele, share in ((x, 1 - recombination), (y, recombination)):
            sperm[i, allele] += share / 2
            sperm[i, alleles + (x + y - allele if x != y else x)] += share / 2
    ways = []
    for p, m in product(range(alleles), repeat=2):
        ways.append((females.index((min(p, m), max(p, m))), p, m))
        ways.append((len(females) + males.index((m, p)), alleles + p, m))
    genotypes = (*females, *((x, y) for x, y in males))
    return _segregation(genotypes, is_male, sperm, eggs, ways, dead, True)


def _segregation(
    genotypes: tuple[Genotype, ...],
    is_male: Bools,
    sperm: Floats,
    eggs: Floats,
    ways: list[tuple[int, int, int]],
    dead: tuple[Genotype, ...],
    linked: bool,
) -> Segregation:
    import numpy as np

    columns = np.array(sorted(ways), dtype=np.int64).T
    lost = {(min(g), max(g)) for g in dead}
    lives = np.array([float((min(g), max(g)) not in lost) for g in genotypes])
    can_dam = ~is_male if linked else is_male
    return Segregation(
        genotypes, is_male, can_dam, sperm, eggs, columns[0], columns[1], columns[2], lives, linked
    )
