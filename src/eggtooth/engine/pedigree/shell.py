"""A tangled piece without its easy unknowns: all that can be summed out in small tables is, once and for all.

What is left, the core, is a fraction of the piece (a tenth or so) and holds all that makes it hard.
Whatever is known of the core jointly is carried back to the rest exactly (the same sums as in
`elimination`).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from math import prod
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.elimination import Factor, Scope, onto, spread

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

SHELL_CELLS = 256
"""Largest table in which an unknown is summed out for good."""
MOST_CELLS = 1 << 16
"""The same where the core is given beforehand."""


@dataclass(frozen=True)
class Shell:
    """What was summed out, in order, and the core.

    `cliques[k]`: unknown k and what it hung on; `products`, `messages`: its table, and that summed over it;
    `towards`: the next clique (-1: the core, or nothing); `place`: order of all unknowns; `factors`: tables
    over `core`, each largest entry 1 unless the piece's own.
    """

    cliques: Sequence[Scope]
    products: Sequence[Floats]
    messages: Sequence[Floats]
    towards: Sequence[int]
    place: Mapping[int, int]
    core: tuple[int, ...]
    factors: tuple[Factor, ...]

    def home(self, scope: Scope) -> int:
        """The clique that holds all of a table's unknowns; -1 when they are all of the core."""
        first = min(self.place[v] for v in scope)
        return first if first < len(self.cliques) else -1

    def expand(self, joint: Callable[[Scope], Floats]) -> list[Floats]:
        """Posterior of every clique, shape [chains, *sizes], from the core's: `joint` gives [chains,
        *sizes] for some of it."""
        import numpy as np

        beliefs: list[Floats] = [np.empty(0)] * len(self.cliques)
        for k in range(len(self.cliques) - 1, -1, -1):
            around, message = self.cliques[k][1:], self.messages[k]
            if not around:
                beliefs[k] = (self.products[k] / message)[None]
                continue
            up = self.towards[k]
            outside = joint(around) if up < 0 else _onto(beliefs[up], self.cliques[up], around)
            inside = np.divide(
                self.products[k], message, out=np.zeros_like(self.products[k]), where=message > 0
            )
            beliefs[k] = inside[None] * outside[:, None]
        return beliefs


def _onto(belief: Floats, clique: Scope, scope: Scope) -> Floats:
    """`onto`, with a first axis for the chains."""
    return onto(belief, (-1, *clique), (-1, *scope))


def collapse(
    sizes: Mapping[int, int],
    factors: Sequence[Factor],
    cells: int = SHELL_CELLS,
    core: Collection[int] | None = None,
) -> Shell | None:
    """Sum out what can be in tables of at most `cells`, or, given a core, everything else.

    None when that core would need a table above `MOST_CELLS`. Raises `ZeroDivisionError` when nothing can be
    true. Cost: unknowns x cells.
    """
    import numpy as np

    order, cliques = _order(sizes, [f.scope for f in factors], MOST_CELLS if core else cells, core or ())
    left = tuple(v for v in sizes if v not in set(order))
    if core is not None and set(left) != set(core):
        return None
    place = {v: k for k, v in enumerate((*order, *left))}
    cliques = [tuple(sorted(c, key=place.__getitem__)) for c in cliques]
    waiting: list[list[Factor]] = [[] for _ in (*order, *left)]
    for factor in factors:
        waiting[min(place[v] for v in factor.scope)].append(factor)
    products, messages, towards = [], [], []
    for k, clique in enumerate(cliques):
        product = np.ones([sizes[v] for v in clique])
        for factor in waiting[k]:
            product *= spread(factor, clique, place)
        top = float(product.max())
        if top == 0:
            raise ZeroDivisionError("the evidence has chance 0")
        product /= top
        message = product.sum(axis=0)
        products.append(product)
        messages.append(message)
        if len(clique) > 1:
            waiting[place[clique[1]]].append(Factor(clique[1:], message / message.max()))
        towards.append(place[clique[1]] if len(clique) > 1 and place[clique[1]] < len(order) else -1)
    over = [f for held in waiting[len(order) :] for f in held]
    return Shell(cliques, products, messages, towards, place, left, tuple(_merged(over, place)))


def _order(
    sizes: Mapping[int, int], scopes: Sequence[Scope], most: int, core: Collection[int]
) -> tuple[list[int], list[Scope]]:
    """Smallest table first, until none fits or only the core is left."""
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
    order, cliques = [], []
    while heap:
        size, v = heappop(heap)
        if v not in near or size != cells(v):
            continue
        if size > most:
            break
        around = near.pop(v)
        order.append(v)
        cliques.append((v, *around))
        for u in around:
            near[u] |= around
            near[u] -= {u, v}
            if u not in kept:
                heappush(heap, (cells(u), u))
    return order, cliques


def _merged(factors: Sequence[Factor], place: Mapping[int, int]) -> list[Factor]:
    """Tables multiplied into those that hold all their unknowns, so that there are few."""
    out: list[Factor] = []
    for factor in sorted(factors, key=lambda f: -len(f.scope)):
        inside = set(factor.scope)
        for k, larger in enumerate(out):
            if inside <= set(larger.scope):
                out[k] = Factor(larger.scope, larger.values * spread(factor, larger.scope, place))
                break
        else:
            scope = tuple(sorted(factor.scope, key=place.__getitem__))
            out.append(Factor(scope, factor.values.transpose([factor.scope.index(v) for v in scope])))
    return out
