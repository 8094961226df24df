"""What one season of one pair brings: whether she lays, how many hatch, and how many of those are sought."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import product

from eggtooth.engine.facts import biology
from eggtooth.engine.genetics.clutches import spread_clutch

Hatchlings = tuple[float, ...]
"""Chance of 0, 1, 2, … hatchlings from one female in one season (losses by genotype not counted)."""

Counts = dict[tuple[int, ...], float]
"""Distribution over how many of each kind sought are in hand, held at the number sought."""


def usual_season(lays: float = biology.LAYS.value) -> Hatchlings:
    """A female put with a male for a season: she lays with a chance, then a clutch as the facts have it."""
    clutch = spread_clutch().hatchlings
    return (1 - lays + lays * clutch[0], *(lays * p for p in clutch[1:]))


def sure_season(eggs: int) -> Hatchlings:
    """A clutch of so many eggs that all hatch, every season."""
    return (0.0,) * eggs + (1.0,)


@lru_cache(maxsize=65536)
def misses(hatchlings: Hatchlings, p: float) -> float:
    """Chance that a season brings none of a kind that a hatchling is with chance `p`."""
    total, rest = 0.0, 1 - p
    for chance in reversed(hatchlings):
        total = total * rest + chance
    return total


@lru_cache(maxsize=4096)
def brings(hatchlings: Hatchlings, odds: tuple[float, ...], sought: tuple[int, ...]) -> Counts:
    """How many of each kind (kinds exclude one another) a season brings, held at the numbers sought."""
    found: Counts = {}
    now: Counts = {(0,) * len(odds): 1.0}
    for m, chance in enumerate(hatchlings):
        now = now if m == 0 else _one_more(now, odds, sought)
        for counts, p in now.items():
            found[counts] = found.get(counts, 0.0) + chance * p
    return found


def _one_more(now: Counts, odds: Sequence[float], sought: Sequence[int]) -> Counts:
    after: Counts = {}
    rest = 1 - math.fsum(odds)
    for counts, p in now.items():
        after[counts] = after.get(counts, 0.0) + p * rest
        for i, chance in enumerate(odds):
            to = (*counts[:i], min(counts[i] + 1, sought[i]), *counts[i + 1 :])
            after[to] = after.get(to, 0.0) + p * chance
    return after


def added(a: Counts, b: Counts, sought: Sequence[int]) -> Counts:
    """Distribution of the sum of two independent counts, held at the numbers sought."""
    found: Counts = {}
    for (x, p), (y, q) in product(a.items(), b.items()):
        both = tuple(min(i + j, most) for i, j, most in zip(x, y, sought, strict=True))
        found[both] = found.get(both, 0.0) + p * q
    return found


def first_done(season: Counts, sought: tuple[int, ...], tries: int) -> list[float]:
    """Chance that all sought are in hand first after 1, 2, … `tries` seasons alike."""
    now: Counts = {(0,) * len(sought): 1.0}
    done, before = [], 0.0
    for _ in range(tries):
        now = added(now, season, sought)
        so_far = now.get(sought, 0.0)
        done.append(so_far - before)
        before = so_far
    return done
