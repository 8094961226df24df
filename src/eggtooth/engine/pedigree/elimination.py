"""Exact sums over many linked unknowns, one unknown at a time (variable elimination on a clique tree).

Order: the unknown with the smallest table first. Going back through the cliques gives the posterior of
every unknown and of every factor's own group (Lauritzen & Spiegelhalter 1988, J. R. Stat. Soc. B 50:157-224;
Shafer & Shenoy 1990; from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from itertools import pairwise
from math import log, prod
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Scope = tuple[int, ...]


@dataclass(frozen=True)
class Factor:
    """A non-negative table over some unknowns; axis k of `values` belongs to `scope[k]`."""

    scope: Scope
    values: Floats


@dataclass(frozen=True)
class Sums:
    """Posterior of each unknown, of each two that share a factor (in its own axes), and the log of the whole
    sum."""

    single: Mapping[int, Floats]
    joint: Mapping[Scope, Floats]
    log_total: float


class TooTangled(ValueError):
    """The cheapest order found needs `cells` table cells, more than the budget."""

    def __init__(self, cells: int, budget: int) -> None:
        """Keep both figures."""
        self.cells, self.budget = cells, budget
        super().__init__(f"exact answer would need tables of {cells} cells; the budget is {budget}")


def order_of(sizes: Mapping[int, int], scopes: Sequence[Scope], budget: int) -> tuple[list[int], list[Scope]]:
    """A good elimination order and the clique (sorted by that order) each unknown is summed out of.

    Raises `TooTangled` when all cliques together pass `budget` cells. Cost: about n x (width squared).
    """
    near: dict[int, set[int]] = {v: set() for v in sizes}
    for scope in scopes:
        for v in scope:
            near[v].update(scope)
    for v, others in near.items():
        others.discard(v)
    heap = [(_cells(v, near, sizes), v) for v in near]
    heapify(heap)
    order, cliques, cells = [], [], 0
    while near:
        size, v = heappop(heap)
        if v not in near or size != _cells(v, near, sizes):
            continue
        around = near.pop(v)
        cells += size
        if cells > budget:
            raise TooTangled(cells, budget)
        order.append(v)
        cliques.append((v, *around))
        for u in around:
            near[u] |= around
            near[u] -= {u, v}
            heappush(heap, (_cells(u, near, sizes), u))
    place = {v: k for k, v in enumerate(order)}
    return order, [tuple(sorted(c, key=place.__getitem__)) for c in cliques]


def _cells(v: int, near: Mapping[int, set[int]], sizes: Mapping[int, int]) -> int:
    """Size of the table needed to sum out `v` now."""
    return sizes[v] * prod([sizes[u] for u in near[v]])


def eliminate(sizes: Mapping[int, int], factors: Sequence[Factor], budget: int) -> Sums:
    """Sum the product of all factors over all unknowns and find every posterior.

    Exact to rounding. Raises `TooTangled` beyond `budget` cells, `ZeroDivisionError` when the sum is 0.
    """
    order, cliques = order_of(sizes, [f.scope for f in factors], budget)
    place = {v: k for k, v in enumerate(order)}
    tables, homes, log_total = _collect(order, cliques, place, sizes, factors)
    beliefs = _distribute(cliques, place, tables)
    single = {v: beliefs[k].reshape(sizes[v], -1).sum(axis=1) for k, v in enumerate(order)}
    two: dict[Scope, int] = {f.scope: k for f, k in zip(factors, homes, strict=True) if len(f.scope) == 2}
    joint: dict[Scope, Floats] = {scope: onto(beliefs[k], cliques[k], scope) for scope, k in two.items()}
    return Sums(single, joint, log_total)


@dataclass
class _Clique:
    """Product of everything in a clique, the message it sent on and where to (-1: nowhere)."""

    product: Floats
    message: Floats
    towards: int


def _collect(
    order: Sequence[int],
    cliques: Sequence[Scope],
    place: Mapping[int, int],
    sizes: Mapping[int, int],
    factors: Sequence[Factor],
) -> tuple[list[_Clique], list[int], float]:
    """Sum out the unknowns in order; returns the cliques, the clique of each factor and the log of the
    sum."""
    import numpy as np

    waiting: list[list[Factor]] = [[] for _ in order]
    homes = []
    for factor in factors:
        homes.append(min(place[v] for v in factor.scope))
        waiting[homes[-1]].append(factor)
    done, log_total = [], 0.0
    for k, clique in enumerate(cliques):
        product = np.ones([1] * len(clique))
        for factor in sorted(waiting[k], key=lambda f: f.values.size):
            product = product * spread(factor, clique, place)  # small tables first, so that it grows late
        if product.shape != (shape := tuple(sizes[v] for v in clique)):
            product = np.broadcast_to(product, shape).copy()
        top = float(product.max())
        if top == 0:
            raise ZeroDivisionError("the evidence has chance 0")
        product /= top
        log_total += log(top)
        message = product.sum(axis=0)
        towards = place[clique[1]] if len(clique) > 1 else -1
        if towards >= 0:
            waiting[towards].append(Factor(clique[1:], message))
        else:
            log_total += log(float(message))
        done.append(_Clique(product, message, towards))
    return done, homes, log_total


def _distribute(cliques: Sequence[Scope], place: Mapping[int, int], done: Sequence[_Clique]) -> list[Floats]:
    """Posterior of every clique, from the last summed out to the first."""
    import numpy as np

    beliefs: list[Floats] = [np.empty(0)] * len(done)
    for k in range(len(done) - 1, -1, -1):
        clique = done[k]
        if clique.towards < 0:
            beliefs[k] = clique.product / clique.message
            continue
        outside = onto(beliefs[clique.towards], cliques[clique.towards], cliques[k][1:])
        ratio = np.divide(outside, clique.message, out=np.zeros_like(outside), where=clique.message > 0)
        clique.product *= ratio
        beliefs[k] = clique.product
    return beliefs


def spread(factor: Factor, clique: Scope, place: Mapping[int, int]) -> Floats:
    """The factor's table with its axes in the clique's order, ready to multiply."""
    scope, values = factor.scope, factor.values
    ranks = [place[v] for v in scope]
    if any(a > b for a, b in pairwise(ranks)):
        by_rank = sorted(range(len(scope)), key=ranks.__getitem__)
        scope, values = tuple(scope[i] for i in by_rank), values.transpose(by_rank)
    sizes = dict(zip(scope, values.shape, strict=True))
    return values.reshape([sizes.get(v, 1) for v in clique])


def onto(belief: Floats, clique: Scope, scope: Scope) -> Floats:
    """Sum a clique's posterior onto a subset of its unknowns, in the order of `scope`."""
    shape = list(belief.shape)
    for i, v in enumerate(clique):
        if v not in scope:  # an axis at a time: sums over scattered axes at once are several times slower
            parts = belief.reshape(prod(shape[:i]), shape[i], -1)
            belief = parts[:, 0] + parts[:, 1] if shape[i] > 1 else parts[:, 0]
            for j in range(2, shape[i]):
                belief += parts[:, j]
            shape[i] = 1
    small = belief.reshape([s for s, v in zip(shape, clique, strict=True) if v in scope])
    left = [v for v in clique if v in scope]
    return small.transpose([left.index(v) for v in scope]) if left != list(scope) else small
