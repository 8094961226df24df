"""From the pieces back to everybody: certain rows, and folded rows from their parents' joint odds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.family import Posterior
from eggtooth.engine.pedigree.network import CHUNK_CELLS, Network
from eggtooth.engine.pedigree.pieces import Piece, stated

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
    picked = [pick.odds for pick in family.picks]
    for piece in pieces:
        for v, each in piece.each.items():
            if v < n:
                p[v, network.allowed[v]] = _mean(each)
            else:
                picked[v - n] = _mean(each)
    sampled = [piece for piece in pieces if piece.core]
    error = np.zeros_like(p) if sampled else None
    _unfold(network, p, _pair_beliefs(network, p, pieces))
    if error is not None:
        for piece in sampled:
            _errors(network, p, error, piece)
    total = network.log_scale + sum(piece.log_total for piece in pieces)
    return Posterior(p, total, tuple(picked), error)


def _mean(each: Floats) -> Floats:
    """Mean over chains [chains, ...] as odds; weighing may leave one a little below 0."""
    import numpy as np

    if len(each) == 1:
        return np.asarray(each[0])
    odds = np.clip(each.mean(axis=0), 0, None)
    return np.asarray(odds / odds.sum())


def _pair_beliefs(network: Network, p: Floats, pieces: Sequence[Piece]) -> Floats:
    """Joint posterior of every pair with folded offspring, shape [pairs, S, S]."""
    import numpy as np

    out = p[network.pairs[:, 0], :, None] * p[network.pairs[:, 1], None, :]
    joint = {pair: odds for piece in pieces for pair, odds in piece.joint.items()}
    for k in np.flatnonzero(network.open[network.pairs].all(axis=1)).tolist():
        sire, dam = network.pairs[k].tolist()
        if (sire, dam) in joint:
            out[k][np.ix_(network.allowed[sire], network.allowed[dam])] = _mean(joint[sire, dam])
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


def _errors(network: Network, p: Floats, error: Floats, piece: Piece) -> None:
    """The error of a sampled piece's rows and of their young, chain by chain."""
    import numpy as np

    rows = [v for v in piece.unknowns if v < len(p)]
    size, chains = p.shape[1], max(len(piece.each[v]) for v in rows)
    each = np.zeros((len(rows), chains, size))
    for at, v in enumerate(rows):
        each[at][:, network.allowed[v]] = piece.each[v]
    error[rows] = stated(each)
    place = np.full(len(p), -1)
    place[rows] = np.arange(len(rows))
    wanted = np.flatnonzero((place[network.pairs] >= 0).any(axis=1))
    one, other = (_by_chain(each, place[ends], p[ends]) for ends in network.pairs[wanted].T)
    belief = one[:, :, :, None] * other[:, :, None, :]
    for at, pair in enumerate(map(tuple, network.pairs[wanted].tolist())):
        if pair in piece.joint:
            cells = np.ix_(network.allowed[pair[0]], network.allowed[pair[1]])
            belief[at][(slice(None), *cells)] = piece.joint[pair]
    at_pair = np.full(len(network.pairs), -1)
    at_pair[wanted] = np.arange(len(wanted))
    young = np.flatnonzero(network.folded & (network.allowed.sum(axis=1) > 1))
    young = young[at_pair[network.pair_of[young]] >= 0]
    belief = belief.reshape(len(wanted), chains, size * size)
    step = max(1, CHUNK_CELLS // (chains * size * size))
    for start in range(0, len(young), step):
        chunk = young[start : start + step]
        error[chunk] = stated(_of_young(network, chunk, belief[at_pair[network.pair_of[chunk]]]))


def _by_chain(each: Floats, place: Ints, p: Floats) -> Floats:
    """Odds chain by chain [rows, chains, S]; certain to the last digit, the same in all chains, outside the
    piece."""
    import numpy as np

    return np.where((place >= 0)[:, None, None], each[place], p[:, None, :])
