"""From the pieces back to everybody: certain rows, and folded rows from their parents' joint odds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from eggtooth.engine.pedigree.family import Posterior
from eggtooth.engine.pedigree.network import CHUNK_CELLS, Network
from eggtooth.engine.pedigree.pieces import Piece, stated

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Before:
    """The answer before, and which `rows` [n] have the same odds now; `source` [n]: their rows then."""

    posterior: Posterior
    source: Ints
    rows: NDArray[np.bool_]


def finish(network: Network, pieces: Sequence[Piece], before: Before | None = None) -> Posterior:
    """Posterior of open rows as found, of certain rows, and of folded rows from their parents.

    With `before`, only of those that are not as they were.
    """
    import numpy as np

    n = len(network.allowed)
    p = _own(network)
    picked = [pick.odds for pick in network.family.picks]
    fresh = np.ones(n, dtype=bool) if before is None else ~before.rows
    young = np.flatnonzero(fresh & network.folded & (network.allowed.sum(axis=1) > 1))
    needed = np.zeros(len(network.pairs), dtype=bool)
    needed[network.pair_of[young]] = True
    drawn = [_Drawn(network, piece, fresh, needed) for piece in pieces if piece.core]
    for piece in pieces:
        for v, each in piece.each.items():
            if v >= n:
                picked[v - n] = _mean(each)
            elif not piece.core:
                p[v, network.allowed[v]] = each[0]
    for found in drawn:
        p[found.rows] = _mean(found.each)
    beliefs = _pair_beliefs(network, p, pieces, needed)
    error = np.zeros_like(p) if drawn else None
    for found in drawn:
        found.couple(p)
        beliefs[found.pairs] = _mean(found.beliefs)
    _unfold(network, p, beliefs, young)
    for found in drawn:
        found.tell(cast("Floats", error), young)
    _copy(before, p, error)
    total = network.log_scale + sum(piece.log_total for piece in pieces)
    return Posterior(p, total, tuple(picked), error)


def _own(network: Network) -> Floats:
    """What the rows' own records say."""
    p = network.family.table * network.allowed
    for pick in network.family.picks:
        p[pick.row] = network.allowed[pick.row]
    p /= p.sum(axis=1, keepdims=True)
    return p


def _copy(before: Before | None, p: Floats, error: Floats | None) -> None:
    """Take over the rows that are as they were."""
    if before is None:
        return
    source, was = before.source[before.rows], before.posterior
    p[before.rows] = was.p[source]
    if error is not None:
        error[before.rows] = 0.0 if was.error is None else was.error[source]


def _mean(each: Floats) -> Floats:
    """Mean over chains [..., chains, S] as odds; weighing may leave one a little below 0."""
    import numpy as np

    odds = np.clip(each.mean(axis=-2), 0, None)
    return np.asarray(odds / odds.sum(axis=-1, keepdims=True))


def _pair_beliefs(network: Network, p: Floats, pieces: Sequence[Piece], needed: NDArray[np.bool_]) -> Floats:
    """Joint posterior of every pair with folded offspring, shape [pairs, S * S]; of `needed` couples known
    exactly."""
    import numpy as np

    out = p[network.pairs[:, 0], :, None] * p[network.pairs[:, 1], None, :]
    joint = {pair: odds for piece in pieces if not piece.core for pair, odds in piece.joint.items()}
    for k in np.flatnonzero(needed & network.open[network.pairs].all(axis=1)).tolist() if joint else ():
        sire, dam = network.pairs[k].tolist()
        if (sire, dam) in joint:
            out[k][np.ix_(network.allowed[sire], network.allowed[dam])] = joint[sire, dam][0]
    return out.reshape(len(out), p.shape[1] ** 2)


def _unfold(network: Network, p: Floats, beliefs: Floats, rows: Ints) -> None:
    """P(folded row) from its parents' joint posterior without its own share of the evidence."""
    step = max(1, CHUNK_CELLS // p.shape[1] ** 2)
    for start in range(0, len(rows), step):
        chunk = rows[start : start + step]
        belief = beliefs[network.pair_of[chunk]]
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


class _Drawn:
    """A sampled piece, chain by chain: odds `each` [rows, chains, S], joint odds of couples `beliefs` [pairs,
    chains, S * S]."""

    def __init__(
        self, network: Network, piece: Piece, fresh: NDArray[np.bool_], needed: NDArray[np.bool_]
    ) -> None:
        """`fresh` rows are to be told; `needed` pairs have such young."""
        import numpy as np

        self.network, self.piece = network, piece
        wanted = fresh.copy()
        wanted[network.pairs[needed].ravel()] = True
        unknowns = np.array(piece.unknowns)
        unknowns = unknowns[unknowns < len(wanted)]
        self.rows = unknowns[wanted[unknowns]].tolist()
        self.chains = max(map(len, piece.each.values()))
        self.each = np.zeros((len(self.rows), self.chains, network.allowed.shape[1]))
        for at, v in enumerate(self.rows):
            self.each[at][:, network.allowed[v]] = piece.each[v]
        self.place = np.full(len(network.allowed), -1)
        self.place[self.rows] = np.arange(len(self.rows))
        self.pairs = np.flatnonzero(needed & (self.place[network.pairs] >= 0).any(axis=1))
        self.beliefs: Floats = np.empty(0)

    def couple(self, p: Floats) -> None:
        """Joint odds of the pairs; those outside the piece are the same in all chains."""
        import numpy as np

        network = self.network
        one, other = (self._of(ends, p) for ends in network.pairs[self.pairs].T)
        beliefs = one[:, :, :, None] * other[:, :, None, :]
        for at, pair in enumerate(map(tuple, network.pairs[self.pairs].tolist())):
            if pair in self.piece.joint:
                cells = np.ix_(network.allowed[pair[0]], network.allowed[pair[1]])
                beliefs[at][(slice(None), *cells)] = self.piece.joint[pair]
        self.beliefs = beliefs.reshape(len(beliefs), self.chains, p.shape[1] ** 2)

    def _of(self, rows: Ints, p: Floats) -> Floats:
        import numpy as np

        place = self.place[rows]
        return np.where((place >= 0)[:, None, None], self.each[place], p[rows][:, None, :])

    def tell(self, error: Floats, young: Ints) -> None:
        """Write the error of the rows and of their young."""
        import numpy as np

        network = self.network
        error[self.rows] = stated(self.each)
        at_pair = np.full(len(network.pairs), -1)
        at_pair[self.pairs] = np.arange(len(self.pairs))
        young = young[at_pair[network.pair_of[young]] >= 0]
        step = max(1, CHUNK_CELLS // (self.chains * error.shape[1] ** 2))
        for start in range(0, len(young), step):
            chunk = young[start : start + step]
            error[chunk] = stated(_of_young(network, chunk, self.beliefs[at_pair[network.pair_of[chunk]]]))
