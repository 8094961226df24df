"""Which unknowns are held while the rest is summed and drawn at one go."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from heapq import heapify, heappop, heappush
from math import prod
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

BLOCK_CELLS = 1024


def cut_order(
    sizes: Mapping[int, int],
    scopes: Sequence[tuple[int, ...]],
    held_before: Mapping[int, int],
    rng: np.random.Generator,
) -> tuple[list[int], list[tuple[int, ...]]]:
    """An order over the unknowns `sizes` with small tables; those that would make a large one are held
    instead, as all others in `scopes` are."""

    near: dict[int, set[int]] = {v: set() for v in sizes}
    for scope in scopes:
        for v in scope:
            if v in near:
                near[v].update(u for u in scope if u in near)
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


def cutsets(
    sizes: Mapping[int, int], scopes: Sequence[tuple[int, ...]], rng: np.random.Generator, plans: int
) -> Iterator[tuple[list[int], list[tuple[int, ...]]]]:
    """Orders for some cutsets, then small ones until every unknown is free in one."""
    held_before = dict.fromkeys(sizes, 0)
    turns = 0
    while turns < plans or any(times == turns for times in held_before.values()):
        mine = {v: n for v, n in sizes.items() if turns < plans or held_before[v] == turns}
        order, cliques = cut_order(mine, scopes, held_before, rng)
        free = set(order)
        for v in sizes:
            held_before[v] += v not in free
        turns += 1
        yield order, cliques
