"""Random families with loops, half sibs, uncertain sires and patchy evidence."""

from __future__ import annotations

import numpy as np

from eggtooth.engine.pedigree.family import Family, Pick
from eggtooth.engine.pedigree.segregation import Segregation


def random_family(
    rng: np.random.Generator, segregation: Segregation, animals: int, founders: int, picks: int = 0
) -> Family:
    """A family of `animals` rows (stand-ins of picks come on top) with random evidence that may be
    impossible."""
    size = len(segregation.genotypes)
    sex = np.array([i % 2 if i < 2 else int(rng.integers(2)) for i in range(animals)])
    sire, dam, chosen, table, sexes = [], [], [], [], []
    for i in range(animals):
        if i < founders:
            sire.append(-1)
            dam.append(-1)
            table.append(rng.dirichlet(np.ones(size)) * (rng.random(size) < 0.8))
        else:
            males = [r for r, s in enumerate(sexes) if s == 1]
            females = [r for r, s in enumerate(sexes) if s == 0]
            father = int(rng.choice(males))
            if picks and len(males) > 1 and rng.random() < 0.5:
                picks -= 1
                who = rng.choice(males, size=int(rng.integers(2, min(3, len(males)) + 1)), replace=False)
                chosen.append(Pick(len(sire), who.astype(np.int64), rng.dirichlet(np.ones(len(who)))))
                sire.append(-1)
                dam.append(-1)
                sexes.append(2)
                table.append(np.ones(size))
                father = len(sire) - 1
            for _ in range(1 if rng.random() < 0.7 else 2):
                sire.append(father)
                dam.append(int(rng.choice(females)))
                sexes.append(int(sex[i]))
                table.append(_seen(rng, size))
            sexes[-1] = int(rng.integers(2))
            continue
        sexes.append(int(sex[i]))
    tables = np.array(table)
    if segregation.sex_linked:
        for row, s in enumerate(sexes):
            tables[row] *= segregation.can_dam if s == 0 else segregation.can_sire
    return Family(segregation, np.array(sire), np.array(dam), tables, tuple(chosen))


def _seen(rng: np.random.Generator, size: int) -> np.ndarray:
    """No evidence, a look that rules some genotypes out, or a test with errors."""
    kind = rng.random()
    if kind < 0.4:
        return np.ones(size)
    if kind < 0.75:
        return (rng.random(size) < 0.7).astype(float)
    return rng.random(size)
