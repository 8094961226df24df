"""The answer of one piece of a family: odds of each unknown and of each couple, exact or chain by chain."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from eggtooth.engine.pedigree.elimination import Factor, Scope, Tree, no_core, onto
from eggtooth.engine.pedigree.network import Network

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

KEPT_CELLS = 1 << 23
"""A clique tree of more cells is not kept for the next time."""


UNSETTLED = 0.05
"""A figure whose stated standard error is above this is not settled: its chains disagree."""


class Core(NamedTuple):
    """What was drawn of a sampled piece's core.

    `worlds` [V, sweeps, chains] by place in the tree's core, numbered among the states possible; mean
    `chances` [groups, size] by unknown as they were drawn; `log_weight` [sweeps, chains]: by what tables
    have changed since.
    """

    worlds: NDArray[np.int8]
    chances: Mapping[int, Floats]
    log_weight: Floats


@dataclass(frozen=True, eq=False)
class Piece:
    """One piece, answered.

    `each`: odds [groups of chains, size] by unknown (one: exact); `joint`: odds [groups, size, size] of
    couples with folded young, by (sire, dam); `tree` and `beliefs`: what they were read from, None when too
    large to keep; `core`: what was drawn, None when exact.
    """

    unknowns: tuple[int, ...]
    each: Mapping[int, Floats]
    joint: Mapping[Scope, Floats]
    log_total: float
    tree: Tree | None = None
    beliefs: Sequence[Floats] = ()
    core: Core | None = None


@dataclass(frozen=True, eq=False)
class Tangle:
    """A piece that is too tangled for an exact answer."""

    network: Network
    unknowns: Sequence[int]
    factors: Sequence[Factor]

    @cached_property
    def sizes(self) -> dict[int, int]:
        """States of each unknown."""
        return {v: self.network.sizes[v] for v in self.unknowns}


def couples(network: Network, unknowns: Iterable[int]) -> list[Scope]:
    """Couples of a piece that have folded young."""
    import numpy as np

    rows = np.array([*unknowns], dtype=np.int64)
    mine = np.zeros(len(network.label), dtype=bool)
    mine[rows] = True
    ends = network.pairs[mine[network.pairs].all(axis=1)]
    return list(zip(ends[:, 0].tolist(), ends[:, 1].tolist(), strict=True))


def answered(
    network: Network,
    unknowns: Sequence[int],
    tree: Tree,
    core: Core | None = None,
    chances: Mapping[int, Floats] | None = None,
    joint: Callable[[Scope], Floats] = no_core,
) -> Piece:
    """Read a piece from its tree; for a sampled one from its core's `chances` and `joint` draws."""
    beliefs = tree.expand(joint)
    each = dict(chances or {})
    each |= {clique[0]: _single(b) for clique, b in zip(tree.cliques, beliefs, strict=True)}
    both = {pair: _couple(network, tree, beliefs, each, joint, pair) for pair in couples(network, unknowns)}
    total = float("nan") if tree.core else tree.log_total
    if sum(table.size for table in tree.inside) > KEPT_CELLS:
        return Piece(tuple(unknowns), each, both, total, core=core)
    return Piece(tuple(unknowns), each, both, total, tree, _kept(beliefs, core, range(len(beliefs))), core)


def _kept(beliefs: Sequence[Floats], core: Core | None, fresh: Iterable[int]) -> Sequence[Any]:
    """Sampled beliefs in half the memory: their rounding is far below their error. `fresh`: those not kept
    yet."""
    import numpy as np

    if core is None:
        return beliefs
    out: list[Any] = list(beliefs)
    for k in fresh:
        out[k] = out[k].astype(np.float32, copy=False)
    return out


def _single(belief: Floats) -> Floats:
    import numpy as np

    return np.asarray(belief.reshape(*belief.shape[:2], -1).sum(axis=2))


def _couple(
    network: Network,
    tree: Tree,
    beliefs: Sequence[Floats],
    each: Mapping[int, Floats],
    joint: Callable[[Scope], Floats],
    pair: Scope,
) -> Floats:
    """Joint odds of two unknowns that share a table."""
    home = tree.home(pair)
    if home >= 0:
        return onto(beliefs[home], (-1, *tree.cliques[home]), (-1, *pair))
    drawn = joint(pair)
    return fitted((drawn + 1e-5) * _possible(network, pair), each[pair[0]], each[pair[1]])


def _possible(network: Network, pair: Scope) -> Bools:
    import numpy as np

    n = len(network.open)
    k = int(np.searchsorted(network.pairs[:, 0] * n + network.pairs[:, 1], pair[0] * n + pair[1]))
    cells = np.ix_(network.allowed[pair[0]], network.allowed[pair[1]])
    return network.pair_table[k][cells] > 0  # type: ignore[no-any-return]


def reread(
    network: Network,
    unknowns: Sequence[int],
    before: Piece,
    tree: Tree,
    beliefs: Sequence[Floats],
    news: Sequence[int],
    core: Core | None,
    chances: Mapping[int, Floats],
    joint: Callable[[Scope], Floats],
) -> Piece:
    """Read again what changed: cliques `news`, and core unknowns with new `chances`."""
    import numpy as np

    each = {**before.each, **chances}
    each |= {tree.cliques[k][0]: _single(beliefs[k]) for k in news}
    for v in each.keys() - set(unknowns):
        del each[v]
    scopes = couples(network, unknowns)
    both = {pair: before.joint[pair] for pair in scopes if pair in before.joint}
    fresh = np.zeros(len(tree.cliques) + 1, dtype=bool)
    fresh[list(news)] = True
    stale = [pair for pair in scopes if pair not in both]
    if both:
        homes = np.array([tree.place[v] for pair in both for v in pair]).reshape(-1, 2).min(axis=1)
        of_core = homes >= len(tree.cliques)
        homes[of_core] = -1
        moved = fresh[homes]
        if chances:
            moved |= of_core & [s in chances or d in chances for s, d in both]
        stale += [pair for pair, is_moved in zip(both, moved.tolist(), strict=True) if is_moved]
    both |= {pair: _couple(network, tree, beliefs, each, joint, pair) for pair in stale}
    total = float("nan") if tree.core else tree.log_total
    return Piece(tuple(unknowns), each, both, total, tree, _kept(beliefs, core, news), core)


def fitted(counts: Floats, rows: Floats, columns: Floats, rounds: int = 6) -> Floats:
    """Scale tables of joint draws [chains, A, B] to the better known margins (iterative proportional
    fitting)."""
    import numpy as np

    table = counts / counts.sum(axis=(1, 2), keepdims=True)
    for _ in range(rounds):
        for axis, margin in ((2, rows), (1, columns)):
            sums = table.sum(axis=axis)
            scale = np.divide(margin, sums, out=np.zeros_like(sums), where=sums > 0)
            table = table * np.expand_dims(scale, axis)
    return table / table.sum(axis=(1, 2), keepdims=True)  # type: ignore[no-any-return]


def stated(each: Floats) -> Floats:
    """Standard error [..., S] of figures [..., chains, S]: the spread of the chains over the root of their
    number, and half of what the two halves, of unlike starts, differ by."""
    import numpy as np

    half = each.shape[-2] // 2
    if not half:
        return np.zeros((*each.shape[:-2], each.shape[-1]))
    drift = (each[..., :half, :].mean(axis=-2) - each[..., half:, :].mean(axis=-2)) / 2
    return np.sqrt(each.var(axis=-2, ddof=1) / each.shape[-2] + drift**2)  # type: ignore[no-any-return]
