"""Slow, plain twins of a night's rotation: worth by days and locks one by one, pairs by every choice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise, permutations

LOCK, FULL, GONE = 0.45, 60, 150
SIZES = ((5, 0.05), (9, 0.15), (13, 0.40), (44, 0.40))


def takes(days_before: float) -> float:
    """Chance that a lock so many days before ovulation takes."""
    if days_before < 0 or days_before >= GONE:
        return 0.0
    return LOCK if days_before <= FULL else LOCK * (GONE - days_before) / (GONE - FULL)


def locks_tonight(days_before: float) -> float:
    """Chance that a night ends in a lock: her size by 1.14 mm a day to 25 mm backwards, then 0.2 mm a day."""
    if days_before < 0:
        return 0.0
    fast_days = (44 - 25) / 1.14
    mm = 44 - 1.14 * days_before if days_before < fast_days else 25 - 0.2 * (days_before - fast_days)
    if mm <= SIZES[0][0]:
        return SIZES[0][1]
    for (a, p), (b, q) in pairwise(SIZES):
        if mm <= b:
            return p + (q - p) * (mm - a) / (b - a)
    return SIZES[-1][1]


def clutch_worth(locks: Sequence[tuple[float, float, float]]) -> float:
    """Locks as (days before ovulation, how much of a lock, worth of the male): what the clutch is worth."""
    none, strength, worth = 1.0, 0.0, 0.0
    for days, share, value in locks:
        p = share * takes(days)
        none, strength, worth = none * (1 - p), strength + p, worth + p * value
    return (1 - none) * worth / strength if strength else 0.0


def gain(
    ovulates: Mapping[float, float], lays: float, seen: Sequence[tuple[float, float, float]], worth: float
) -> float:
    """What a night with a male adds. `ovulates` by days ahead; `seen` as (days ago, how much, worth)."""
    total = 0.0
    for ahead, chance in ovulates.items():
        before = [(ahead + ago, share, value) for ago, share, value in seen]
        more = clutch_worth([*before, (ahead, 1.0, worth)]) - clutch_worth(before)
        total += chance * lays * locks_tonight(ahead) * more
    return total


def best_total(gains: Sequence[Sequence[float]], places: int) -> float:
    """The greatest sum over every way to send each row to a column of its own, or home at zero."""
    rows = len(gains)
    columns = [*range(places), *[-1] * rows]

    def total(choice: Sequence[int]) -> float:
        return sum(gains[i][j] for i, j in enumerate(choice) if j >= 0)

    return max(map(total, set(permutations(columns, rows))))
