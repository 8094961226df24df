"""A clique tree with some of its tables changed: only the cliques on the way from them are summed again."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from typing import TYPE_CHECKING, Any

from eggtooth.engine.pedigree.elimination import Factor, Scope, TooTangled, Tree, collect, order_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


_NONE: Any = None
"""A belief that is still to be worked out."""


@dataclass(frozen=True)
class Grown:
    """The new tree, and where its cliques are from.

    `source[k]`: the old clique that clique k is, -1: summed anew; `gone`, `come`: tables over the core that
    differ.
    """

    tree: Tree
    source: Sequence[int]
    gone: Sequence[Factor]
    come: Sequence[Factor]


def renumbered(tree: Tree, to: Sequence[int]) -> Tree:
    """The same tree with its unknowns numbered otherwise (gone ones by numbers below 0, each its own)."""
    return Tree(
        [tuple([to[v] for v in clique]) for clique in tree.cliques],
        tree.inside,
        tree.messages,
        tree.logs,
        tuple(to[v] for v in tree.core),
        [Factor(tuple(to[v] for v in f.scope), f.values) for f in tree.direct],
        {to[v]: k for v, k in tree.place.items()},
        tree.towards,
    )


def regrown(
    tree: Tree,
    sizes: Mapping[int, int],
    changed: Collection[int],
    reshaped: Collection[int],
    again: Sequence[bool],
    factors: Sequence[Factor],
    budget: int,
) -> Grown:
    """Bring a tree up to date.

    `changed`: unknowns on tables that are other than before, new or gone; `reshaped`: those among them, or
    gone, whose states differ; `again`: cliques to be summed again, see `on_the_way`; `factors`: all tables
    now that touch a changed unknown or one on the way.
    Exact to rounding. Raises `TooTangled` when a core unknown has other states or the tables pass `budget`.
    """
    if any(v in reshaped and v in sizes for v in tree.core):
        raise TooTangled(budget + 1, budget)
    kept = [k for k in range(len(tree.cliques)) if not again[k]]
    left = tuple(v for v in tree.core if v in sizes)
    known = {tree.cliques[k][0] for k in kept} | set(left)
    fresh = {v: size for v, size in sizes.items() if v not in known}
    core = {v: sizes[v] for v in left}
    mine = [
        f
        for f in factors
        if any(v in fresh for v in f.scope) and all(v in fresh or v in core for v in f.scope)
    ]
    for k in kept:
        if tree.towards[k] >= 0 and again[tree.towards[k]]:
            mine.append(Factor(tree.cliques[k][1:], tree.messages[k]))
    order, cliques = order_of({**fresh, **core}, [f.scope for f in mine], budget, left)
    part = collect(order, cliques, left, {**fresh, **core}, mine)
    gone = [
        Factor(tree.cliques[k][1:], tree.messages[k])
        for k in range(len(again))
        if _sends(tree, k) and again[k]
    ]
    come = [Factor(part.cliques[k][1:], part.messages[k]) for k in range(len(order)) if _sends(part, k)]
    moved = set(changed)
    old = [f for f in tree.direct if moved.intersection(f.scope)]
    new = [f for f in factors if moved.intersection(f.scope) and all(v in core for v in f.scope)]
    still = [f for f in tree.direct if not moved.intersection(f.scope)]
    return Grown(
        _joined(tree, kept, part, [*still, *new]), [*kept, *[-1] * len(order)], [*gone, *old], [*come, *new]
    )


def on_the_way(tree: Tree, changed: Collection[int], reshaped: Collection[int]) -> list[bool]:
    """Cliques to be summed again: those of changed unknowns, and all that take a message from one."""
    changed, reshaped = set(changed), set(reshaped)
    if reshaped:
        again = [clique[0] in changed or not reshaped.isdisjoint(clique) for clique in tree.cliques]
    else:
        again = [clique[0] in changed for clique in tree.cliques]
    for k, up in enumerate(tree.towards):
        if again[k] and up >= 0:
            again[up] = True
    return again


def _sends(tree: Tree, k: int) -> bool:
    return tree.towards[k] < 0 and len(tree.cliques[k]) > 1


def _joined(tree: Tree, kept: Sequence[int], part: Tree, direct: Sequence[Factor]) -> Tree:
    """The kept cliques, then those summed anew."""
    cliques: list[Scope] = [tree.cliques[k] for k in kept] + list(part.cliques)
    place = {clique[0]: k for k, clique in enumerate(cliques)}
    place |= {v: len(cliques) + i for i, v in enumerate(part.core)}
    now = [-2] * len(tree.cliques) + [-1]  # the last is of -1
    for k, old in enumerate(kept):
        now[old] = k
    towards = [now[tree.towards[k]] for k in kept]
    towards += [up if up < 0 else up + len(kept) for up in part.towards]
    for k, up in enumerate(towards):
        if up == -2:
            up = min(place[v] for v in cliques[k][1:])
            towards[k] = up if up < len(cliques) else -1
    return Tree(
        cliques,
        [tree.inside[k] for k in kept] + list(part.inside),
        [tree.messages[k] for k in kept] + list(part.messages),
        [tree.logs[k] for k in kept] + list(part.logs),
        part.core,
        direct,
        place,
        towards,
    )


def together(trees: Sequence[Tree]) -> Tree:
    """Trees that do not touch, as one; at most one of them has a core."""
    if len(trees) == 1:
        return trees[0]
    cliques = [clique for tree in trees for clique in tree.cliques]
    core = tuple(v for tree in trees for v in tree.core)
    starts = [sum(len(t.cliques) for t in trees[:i]) for i in range(len(trees))]
    return Tree(
        cliques,
        [x for tree in trees for x in tree.inside],
        [x for tree in trees for x in tree.messages],
        [x for tree in trees for x in tree.logs],
        core,
        [f for tree in trees for f in tree.direct],
        {v: k for k, v in enumerate((*(clique[0] for clique in cliques), *core))},
        [up if up < 0 else up + at for tree, at in zip(trees, starts, strict=True) for up in tree.towards],
    )


def spread_out(
    grown: Grown,
    before: Sequence[Floats],
    joint: Callable[[Scope], Floats],
    moved: Collection[int],
    still: float,
) -> tuple[list[Floats], list[int]]:
    """Posterior of every clique, and which of them are other than `before`.

    Where what a clique hangs on moved by less than `still` (in the mean of the chains), it and all below it
    are left as they were. `moved`: core unknowns that did.
    """

    tree, moved = grown.tree, set(moved)
    beliefs = [before[source] if source >= 0 else _NONE for source in grown.source]
    below = _Below(tree)
    waiting = [-k for k, source in enumerate(grown.source) if source < 0]
    waiting += [-k for k in below.core if not moved.isdisjoint(tree.cliques[k][1:])] if moved else []
    seen = set(waiting)
    heapify(waiting)
    new: list[int] = []
    while waiting:
        k = -heappop(waiting)
        source, hangs = grown.source[k], len(tree.cliques[k]) > 1
        outside = tree.outside(k, beliefs, joint) if hangs else None
        if source >= 0 and outside is not None:
            was = before[source].sum(axis=1)
            if abs(outside.mean(axis=0) - was.mean(axis=0)).max() <= still:
                continue
        beliefs[k] = tree.belief(k, outside)
        new.append(k)
        for child in below.of(k):
            if -child not in seen:
                seen.add(-child)
                heappush(waiting, -child)
    return beliefs, sorted(new)


class _Below:
    """Which cliques hang on which, and those that hang on the core alone (`core`)."""

    def __init__(self, tree: Tree) -> None:
        import numpy as np

        towards = np.array(tree.towards, dtype=np.int64)
        self._order = np.argsort(towards, kind="stable")
        self._sorted = towards[self._order]
        loose = self._order[: np.searchsorted(self._sorted, 0)].tolist()
        self.core = [k for k in loose if len(tree.cliques[k]) > 1]

    def of(self, k: int) -> list[int]:
        import numpy as np

        start, stop = np.searchsorted(self._sorted, [k, k + 1])
        return self._order[start:stop].tolist()  # type: ignore[no-any-return]
