"""Exact sums over many linked unknowns, one unknown at a time (variable elimination on a clique tree).

Order: the unknown with the smallest table first. Going back through the cliques gives the posterior of
every unknown and of every factor's own group (Lauritzen & Spiegelhalter 1988, J. R. Stat. Soc. B 50:157-224;
Shafer & Shenoy 1990; from memory). Unknowns may be left over as a core, for others to answer; what is known
of the core jointly is then carried back to the rest exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
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


class TooTangled(ValueError):
    """The cheapest order found needs `cells` table cells, more than the budget."""

    def __init__(self, cells: int, budget: int) -> None:
        """Keep both figures."""
        self.cells, self.budget = cells, budget
        super().__init__(f"exact answer would need tables of {cells} cells; the budget is {budget}")


@dataclass(frozen=True, eq=False)
class Tree:
    """Unknowns summed out, in order.

    `cliques[k]`: unknown k and what it hung on; `inside[k]`: its odds given those; `messages[k]`: what was
    left for those (largest entry 1); `logs[k]`: log of what was scaled away; `direct`: tables over the core
    alone.
    """

    cliques: Sequence[Scope]
    inside: Sequence[Floats]
    messages: Sequence[Floats]
    logs: Sequence[float]
    core: Scope
    direct: Sequence[Factor]
    place: Mapping[int, int]
    towards: Sequence[int]
    """The clique that took the message; -1: the core, or nobody."""

    @property
    def log_total(self) -> float:
        """Log of the sum of everything, when there is no core."""
        return sum(self.logs)

    def over_core(self) -> list[Factor]:
        """All tables over the core."""
        sent = [
            Factor(clique[1:], message)
            for clique, message, up in zip(self.cliques, self.messages, self.towards, strict=True)
            if up < 0 and len(clique) > 1
        ]
        return [*sent, *self.direct]

    def home(self, scope: Scope) -> int:
        """The clique that holds all of a table's unknowns; -1 when they are all of the core."""
        first = min(self.place[v] for v in scope)
        return first if first < len(self.cliques) else -1

    def outside(self, k: int, beliefs: Sequence[Floats], joint: Callable[[Scope], Floats]) -> Floats:
        """Odds of what unknown k hangs on, shape [chains, *sizes]."""
        up, around = self.towards[k], self.cliques[k][1:]
        return joint(around) if up < 0 else onto(beliefs[up], (-1, *self.cliques[up]), (-1, *around))

    def belief(self, k: int, outside: Floats | None) -> Floats:
        """Posterior of a clique, shape [chains, *sizes]."""
        inside = self.inside[k][None]
        return inside if outside is None else inside * outside[:, None]

    def expand(self, joint: Callable[[Scope], Floats]) -> list[Floats]:
        """Posterior of every clique; `joint` gives that of some of the core, shape [chains, *sizes]."""
        import numpy as np

        beliefs: list[Floats] = [np.empty(0)] * len(self.cliques)
        for k in range(len(self.cliques) - 1, -1, -1):
            hangs = len(self.cliques[k]) > 1
            beliefs[k] = self.belief(k, self.outside(k, beliefs, joint) if hangs else None)
        return beliefs


def no_core(scope: Scope) -> Floats:
    """For trees that sum out everything."""
    raise LookupError(f"nothing is known of {scope}")


def order_of(
    sizes: Mapping[int, int],
    scopes: Sequence[Scope],
    budget: int,
    core: Collection[int] = (),
    widest: int | None = None,
) -> tuple[list[int], list[Scope]]:
    """A good elimination order and the clique each unknown is summed out of; the `core` is left.

    Stops before the first table of more than `widest` cells. Raises `TooTangled` when all cliques together
    pass `budget` cells. Cost: about n x (width squared).
    """
    near: dict[int, set[int]] = {v: set() for v in sizes}
    for scope in scopes:
        for v in scope:
            near[v].update(scope)
    for v, others in near.items():
        others.discard(v)

    def cells(v: int) -> int:
        return sizes[v] * prod([sizes[u] for u in near[v]])

    kept = set(core)
    heap = [(cells(v), v) for v in near if v not in kept]
    heapify(heap)
    order, cliques, total = [], [], 0
    while heap:
        size, v = heappop(heap)
        if v not in near or size != cells(v):
            continue
        if widest is not None and size > widest:
            break
        total += size
        if total > budget:
            raise TooTangled(total, budget)
        around = near.pop(v)
        order.append(v)
        cliques.append((v, *around))
        for u in around:
            near[u] |= around
            near[u] -= {u, v}
            if u not in kept:
                heappush(heap, (cells(u), u))
    return order, cliques


def tree_of(
    sizes: Mapping[int, int],
    factors: Sequence[Factor],
    budget: int,
    core: Collection[int] = (),
    widest: int | None = None,
) -> Tree:
    """Sum out all but the core (or, with `widest`, all that fits). Exact to rounding.

    Raises `TooTangled` beyond `budget` cells, `ZeroDivisionError` when the sum is 0.
    """
    order, cliques = order_of(sizes, [f.scope for f in factors], budget, core, widest)
    done = set(order)
    left = tuple(v for v in sizes if v not in done)
    return collect(order, cliques, left, sizes, factors)


def collect(
    order: Sequence[int],
    cliques: Sequence[Scope],
    core: Scope,
    sizes: Mapping[int, int],
    factors: Sequence[Factor],
) -> Tree:
    """Sum out the unknowns in a given order. Raises `ZeroDivisionError` when the sum is 0."""
    import numpy as np

    place = {v: k for k, v in enumerate((*order, *core))}
    scopes = [tuple(sorted(c, key=place.__getitem__)) for c in cliques]
    waiting: dict[int, list[Factor]] = {}
    for factor in factors:
        waiting.setdefault(min(place[v] for v in factor.scope), []).append(factor)
    inside, messages, logs, towards = [], [], [], []
    for k, clique in enumerate(scopes):
        product = _product(waiting.pop(k, ()), clique, place, sizes)
        message = product.sum(axis=0)
        top = float(message.max())
        if top == 0:
            raise ZeroDivisionError("the evidence has chance 0")
        np.divide(product, message, out=product, where=message > 0)
        message /= top
        up = place[clique[1]] if len(clique) > 1 else -1
        if 0 <= up < len(order):
            waiting.setdefault(up, []).append(Factor(clique[1:], message))
        inside.append(product)
        messages.append(message)
        logs.append(log(top))
        towards.append(up if up < len(order) else -1)
    direct = [f for k in sorted(waiting) for f in waiting[k]]
    return Tree(scopes, inside, messages, logs, core, direct, place, towards)


def _product(
    factors: Sequence[Factor], clique: Scope, place: Mapping[int, int], sizes: Mapping[int, int]
) -> Floats:
    """All tables of a clique multiplied, at full size; small ones first, so that it grows late."""
    import numpy as np

    product = np.ones([1] * len(clique))
    for factor in sorted(factors, key=lambda f: f.values.size):
        product = product * spread(factor, clique, place)
    shape = tuple(sizes[v] for v in clique)
    return product if product.shape == shape else np.broadcast_to(product, shape).copy()


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
