"""Which unknowns are held while the rest is summed and drawn at one go, and the tables lined up for that."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from math import prod
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.elimination import Factor

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

BLOCK_CELLS = 1024
LEAST_PLANS, MOST_PLANS = 3, 6


@dataclass
class Step:
    """One unknown to sum out, and the later unknowns `around` it that it hangs on.

    `fixed`: product of the tables and messages that no held unknown touches, or None; `cuts`: tables with
    their held unknowns first, and the shape after cutting; `senders`: steps whose messages differ from chain
    to chain, with the shape they take here; `scale` keeps messages near 1. A step with neither cuts nor
    senders is `settled`: its message and `chance` never change.
    """

    unknown: int
    around: tuple[int, ...]
    fixed: Floats | None
    cuts: list[tuple[int, tuple[int, ...], tuple[int, ...], tuple[int, ...]]]
    senders: list[tuple[int, tuple[int, ...]]]
    scale: float = 0.0
    chance: Floats | None = None


def cut_order(
    sizes: Mapping[int, int],
    scopes: Sequence[tuple[int, ...]],
    held_before: Mapping[int, int],
    rng: np.random.Generator,
) -> tuple[list[int], list[tuple[int, ...]]]:
    """An order over free unknowns with small tables; unknowns that would make a large one are held
    instead."""

    near: dict[int, set[int]] = {v: set() for v in sizes}
    for scope in scopes:
        for v in scope:
            near[v].update(scope)
    for v, others in near.items():
        others.discard(v)
    luck = dict(zip(sizes, rng.random(len(sizes)).tolist(), strict=True))

    def cells(v: int) -> int:
        return sizes[v] * prod([sizes[u] for u in near[v]])

    heap = [(cells(v), luck[v], v) for v in near]
    heapify(heap)
    order, cliques = [], []
    while near:
        size, _, v = heappop(heap)
        if v not in near or size != cells(v):
            continue
        if size > BLOCK_CELLS:
            heappush(heap, (size, luck[v], v))
            v = max(near[v] | {v}, key=lambda u: len(near[u]) * (0.5 + luck[u]) * 0.1 ** held_before[u])
            around = near.pop(v)
            for u in around:
                near[u].discard(v)
                heappush(heap, (cells(u), luck[u], u))
            continue
        around = near.pop(v)
        order.append(v)
        cliques.append((v, *around))
        for u in around:
            near[u] |= around
            near[u] -= {u, v}
            heappush(heap, (cells(u), luck[u], u))
    return order, cliques


def plan_of(
    order: Sequence[int],
    cliques: Sequence[tuple[int, ...]],
    factors: Sequence[Factor],
    sizes: Mapping[int, int],
) -> list[Step]:
    """Line up every table and message with the step that takes it, and settle what no held unknown
    touches."""
    place = {v: k for k, v in enumerate(order)}
    arounds = [tuple(sorted((u for u in c[1:] if u in place), key=place.__getitem__)) for c in cliques]
    steps = [Step(c[0], around, None, [], []) for c, around in zip(cliques, arounds, strict=True)]
    for number, factor in enumerate(factors):
        held = tuple(v for v in factor.scope if v not in place)
        free = sorted((v for v in factor.scope if v in place), key=place.__getitem__)
        if not free:
            continue
        step = steps[place[free[0]]]
        axes = tuple(factor.scope.index(v) for v in (*held, *free))
        shape = tuple(sizes[v] if v in free else 1 for v in (step.unknown, *step.around))
        if held:
            step.cuts.append((number, held, axes, shape))
        else:
            _multiply(step, factor.values.transpose(axes).reshape((1, *shape)))
    for k, step in enumerate(steps):
        _pass_on(steps, place, k, step, sizes)
    return steps


def _pass_on(
    steps: Sequence[Step], place: Mapping[int, int], k: int, step: Step, sizes: Mapping[int, int]
) -> None:
    """Send a settled step's message for good; otherwise note who will send to whom."""
    taker = steps[place[step.around[0]]] if step.around else None
    shape = (
        tuple(sizes[v] if v in step.around else 1 for v in (taker.unknown, *taker.around)) if taker else ()
    )
    if step.cuts or step.senders or step.fixed is None:
        if taker:
            taker.senders.append((k, shape))
        return
    full = _whole(step, sizes)
    step.chance = full / full.sum(axis=1, keepdims=True).clip(1e-300)
    if taker:
        message = full.sum(axis=1)
        _multiply(taker, (message / message.max()).reshape((1, *shape)))


def _whole(step: Step, sizes: Mapping[int, int]) -> Floats:
    """The step's table with every axis at full length."""
    import numpy as np

    shape = (1, sizes[step.unknown], *(sizes[u] for u in step.around))
    return np.broadcast_to(step.fixed if step.fixed is not None else np.ones(1), shape)


def _multiply(step: Step, table: Floats) -> None:
    step.fixed = table if step.fixed is None else step.fixed * table
