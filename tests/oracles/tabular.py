"""The numerator relationship matrix row by row (tabular method; uncertain sires as Henderson 1988)."""

from __future__ import annotations

import numpy as np

from eggtooth.engine.pedigree.lineage import Lineage


def tabular(pedigree: Lineage) -> np.ndarray:
    """A [n, n]: a_ij = sum of shares of j's parents x a_i,parent; a_ii = 1 + half the expected a of dam and
    sire."""
    n = len(pedigree.tags)
    a = np.zeros((n, n))
    for j in range(n):
        mine = range(pedigree.parent_ptr[j], pedigree.parent_ptr[j + 1])
        parents = [(int(pedigree.parent[k]), float(pedigree.share[k])) for k in mine]
        for i in range(j):
            a[i, j] = a[j, i] = sum(share * a[i, p] for p, share in parents)
        a[j, j] = 1.0
        if pedigree.dam_known[j]:
            dam = parents[0][0]
            a[j, j] += 0.5 * sum(2 * share * a[dam, sire] for sire, share in parents[1:])
    return a
