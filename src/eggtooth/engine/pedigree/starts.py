"""Worlds that chains may start from: with as many carriers as can be, and with few."""

from __future__ import annotations

from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.network import Network
from eggtooth.engine.pedigree.pieces import Tangle

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]


def starts(tangle: Tangle, rng: np.random.Generator, chains: int) -> dict[int, Ints]:
    """States [chains] of every unknown: half the chains with few carriers where that can be had, the others
    mixed."""
    import numpy as np

    network = tangle.network
    out = {v: np.full(chains, _mixed(network, v)) for v in tangle.unknowns}
    if network.allowed.shape[1] == 3:
        for v, sparse in _sparse(tangle, rng, chains).items():
            out[v][: chains // 2] = sparse[: chains // 2]
    return out


def _mixed(network: Network, unknown: int) -> int:
    """The most mixed genotype still possible (a carrier rather than not); the first choice for a sire."""
    if unknown >= len(network.allowed):
        return int(network.family.picks[unknown - len(network.allowed)].odds.argmax())
    genotypes = network.family.segregation.genotypes
    allowed = [g for g, ok in zip(genotypes, network.allowed[unknown], strict=True) if ok]
    return max(
        range(len(allowed)), key=lambda i: (allowed[i][0] != allowed[i][1], sum(map(bool, allowed[i])))
    )


def _sparse(tangle: Tangle, rng: np.random.Generator, chains: int) -> dict[int, Ints]:
    """Worlds with few carriers, different in every chain: who needs the allele gets it from one parent by
    lot.

    For two alleles on an autosome only: there, turning +/+ into a carrier never forbids an offspring.
    """
    import numpy as np

    network = tangle.network
    family, allowed = network.family, network.allowed
    least = np.repeat(allowed.argmax(axis=1)[None], chains, axis=0)
    none = np.zeros(chains, dtype=np.int64)
    mine = np.zeros(len(allowed), dtype=bool)
    mine[[v for v in tangle.unknowns if v < len(allowed)]] = True
    for k in np.flatnonzero(mine[network.pairs].any(axis=1)):
        _raise_parents(least, allowed, network.pairs[k], none, network.pair_table[k][:, :, None], rng)
    sires_of = {pick.row: pick.candidates for pick in family.picks}
    offspring = family.segregation.offspring
    for row in np.flatnonzero(mine)[::-1].tolist():
        if family.sire[row] >= 0:
            ends = np.array([family.sire[row], family.dam[row]])
            _raise_parents(least, allowed, ends, least[:, row], offspring, rng)
        elif row in sires_of:
            able = sires_of[row][allowed[sires_of[row], 1]]
            if len(able):
                chosen = able[rng.integers(len(able), size=chains)]
                up = np.flatnonzero((least[:, row] > 0) & (least[np.arange(chains), chosen] == 0))
                least[up, chosen[up]] = 1
    return {v: (allowed[v].cumsum() - 1)[least[:, v]] for v in np.flatnonzero(mine).tolist()}


def _raise_parents(
    state: Ints, allowed: NDArray[np.bool_], ends: Ints, own: Ints, table: Floats, rng: np.random.Generator
) -> None:
    """Where a table [S, S, states of `own`] forbids two parents, make one a carrier by lot, if need be the
    other too."""
    import numpy as np

    bad = table[state[:, ends[0]], state[:, ends[1]], own] == 0
    if not bad.any():
        return
    chains = np.arange(len(state))
    first = rng.integers(2, size=len(state))
    for turn in (first, 1 - first):
        who = ends[turn]
        up = np.flatnonzero(bad & (state[chains, who] == 0) & allowed[who, 1])
        state[up, who[up]] = 1
        bad = table[state[:, ends[0]], state[:, ends[1]], own] == 0
