"""From the pieces back to everybody: certain rows, and folded rows from their parents' joint odds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.family import Posterior
from eggtooth.engine.pedigree.network import CHUNK_CELLS, Network
from eggtooth.engine.pedigree.peeling import Piece, Sampled, stated

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]


def finish(network: Network, pieces: Sequence[Piece]) -> Posterior:
    """Posterior of open rows as found, of certain rows, and of folded rows from their parents."""
    import numpy as np

    family, n = network.family, len(network.allowed)
    p = family.table * network.allowed
    for pick in family.picks:
        p[pick.row] = network.allowed[pick.row]
    p /= p.sum(axis=1, keepdims=True)
    single = {v: odds for piece in pieces for v, odds in piece.single.items()}
    for v, odds in single.items():
        if v < n:
            p[v, network.allowed[v]] = odds
    sampled = [piece.sampled for piece in pieces if piece.sampled]
    error = np.zeros_like(p) if sampled else None
    for found in sampled:
        for v, each in found.p.items():
            p[v] = _mean(each)
            error[v] = stated(each)  # type: ignore[index]
    _unfold(network, p, _pair_beliefs(network, p, pieces))
    if error is not None:
        for found in sampled:
            _unfold_error(network, p, error, found)
    picked = [single.get(n + k, pick.odds) for k, pick in enumerate(family.picks)]
    for found in sampled:
        for k, each in found.picked.items():
            picked[k] = _mean(each)
    total = network.log_scale + sum(piece.log_total for piece in pieces)
    return Posterior(p, total, tuple(picked), error)


def _mean(each: Floats) -> Floats:
    """Mean over chains [chains, ...] as odds; weighing may leave a chain a little below 0."""
    import numpy as np

    odds = np.clip(each.mean(axis=0), 0, None)
    return np.asarray(odds / odds.sum())


def _pair_beliefs(network: Network, p: Floats, pieces: Sequence[Piece]) -> Floats:
    """Joint posterior of every pair with folded offspring, shape [pairs, S, S]."""
    import numpy as np

    out = p[network.pairs[:, 0], :, None] * p[network.pairs[:, 1], None, :]
    joint = {scope: odds for piece in pieces for scope, odds in piece.joint.items()}
    for k in np.flatnonzero(network.open[network.pairs].all(axis=1)).tolist():
        sire, dam = (int(r) for r in network.pairs[k])
        if (sire, dam) in joint:
            out[k][np.ix_(network.allowed[sire], network.allowed[dam])] = joint[sire, dam]
    for piece in pieces:
        for k, each in piece.sampled.pairs.items() if piece.sampled else ():
            out[k] = _mean(each)
    return out


def _unfold(network: Network, p: Floats, beliefs: Floats) -> None:
    """P(folded row) from its parents' joint posterior without its own share of the evidence."""
    import numpy as np

    rows = np.flatnonzero(network.folded & (network.allowed.sum(axis=1) > 1))
    step = max(1, CHUNK_CELLS // p.shape[1] ** 2)
    for start in range(0, len(rows), step):
        chunk = rows[start : start + step]
        belief = beliefs[network.pair_of[chunk]].reshape(len(chunk), -1)
        p[chunk] = _of_young(network, chunk, belief)


def _of_young(network: Network, rows: Ints, belief: Floats) -> Floats:
    """Odds of folded rows [rows, ..., S] from the joint odds of their parents [rows, ..., S * S]."""
    import numpy as np

    family, size = network.family, network.allowed.shape[1]
    offspring = family.segregation.offspring.reshape(size * size, size)
    between = (slice(None), *[None] * (belief.ndim - 2))
    own = (family.table[rows] * network.allowed[rows])[between]
    seen = own @ offspring.T
    weight = np.divide(belief, seen, out=np.zeros_like(belief), where=seen > 0)
    return np.asarray((weight @ offspring) * own)


def _unfold_error(network: Network, p: Floats, error: Floats, found: Sampled) -> None:
    """The error of the young of sampled parents, chain by chain like their own."""
    import numpy as np

    if not found.p:
        return
    size, chains = p.shape[1], len(next(iter(found.p.values())))
    mine = np.zeros(len(p), dtype=bool)
    mine[list(found.p)] = True
    wanted = np.flatnonzero(mine[network.pairs].any(axis=1))
    place = np.full(len(network.pairs), -1)
    place[wanted] = np.arange(len(wanted))
    belief = np.empty((len(wanted), chains, size * size))
    for at, k in enumerate(wanted.tolist()):
        sire, dam = network.pairs[k].tolist()
        each = found.pairs.get(k)
        if each is None:
            one, other = found.p.get(sire, p[sire][None]), found.p.get(dam, p[dam][None])
            each = one[:, :, None] * other[:, None, :]
        belief[at] = each.reshape(chains, size * size)
    rows = np.flatnonzero(network.folded & (network.allowed.sum(axis=1) > 1))
    rows = rows[place[network.pair_of[rows]] >= 0]
    step = max(1, CHUNK_CELLS // (chains * size * size))
    for start in range(0, len(rows), step):
        chunk = rows[start : start + step]
        error[chunk] = stated(_of_young(network, chunk, belief[place[network.pair_of[chunk]]]))
