"""Whole years of an invented house under this tool, under the plain practice, and under one who knows.

The same animals and the same luck in all three (engine/simulate). Counted: fertile clutches, hatchlings that
meet a wish, females that ovulated without a lock that counts, nights of the males, males lost.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, fields
from datetime import date
from multiprocessing import Pool

import numpy as np

from eggtooth.engine.simulate.clutches import LOCK_COUNTS_DAYS
from eggtooth.engine.simulate.colony import Life
from eggtooth.engine.simulate.policy import Policy
from eggtooth.engine.simulate.world import EARLY, World
from validation._wished import meets
from validation._years import Knowing, PlainPractice, ThisTool, alone, planned

UNTIL = date(2026, 10, 1)
FIRST = 200
"""Seed of the first house; those below were looked at when the cost of a night and the number of spares were
set."""
Decides = Callable[[Life], Policy]
WHO: dict[str, Decides] = {
    "this tool": lambda life: ThisTool(),
    "plain practice": lambda life: PlainPractice(),
    "one who knows": Knowing,
    "this tool, chosen males alone": lambda life: ThisTool(alone),
    "this tool by the season's plan": lambda life: ThisTool(planned),
}


@dataclass(frozen=True)
class Outcome:
    """What a year brought. `wished` counts hatchlings that meet any wish; `fulfilled` adds up the wishes'
    weights, each by the share of its count that hatched; `missed` females ovulated without a lock in time."""

    clutches: int
    fertile: int
    wished: int
    fulfilled: float
    missed: int
    nights: int
    lost: int


def lived(seed: int, decides: Decides, animals: int = 60, world: World = EARLY) -> Outcome:
    """One year of one house under one policy."""
    life = Life(np.random.default_rng(seed), animals=animals, years=1, until=UNTIL, world=world)
    policy = decides(life)
    locks: dict[int, list[int]] = {}
    ovulated: dict[int, float] = {}
    first = life.room.year
    assert first is not None
    while life.room.on < UNTIL and (life.room.on.month, life.room.on.day) != (8, 31):
        life.day(policy)
    for female, seen in first.locks.items():
        locks[female] = [day for day, _ in seen]
    for female in first.place:
        day = first.day(female, "ovulation")
        if day < life.room.today:
            ovulated[female] = day
    missed = sum(
        not any(day - LOCK_COUNTS_DAYS <= lock <= day for lock in locks.get(f, ()))
        for f, day in ovulated.items()
    )
    males = list(first.males.values())
    while life.room.on < UNTIL:
        life.day(policy)
    truth = life.finished().truth
    wishes = life.room.wishes
    young = [y for c in truth.clutches for y in c.young]
    met = {w.text: sum(meets(g, sex, w.text) for g, sex in young) for w in wishes}
    wished = sum(any(meets(g, sex, w.text) for w in wishes) for g, sex in young)
    return Outcome(
        len(truth.clutches),
        sum(c.good > 0 for c in truth.clutches),
        wished,
        sum(w.weight * min(met[w.text], w.count) / w.count for w in wishes),
        missed,
        sum(m.nights for m in males),
        sum(m.died is not None for m in males),
    )


def _one(job: tuple[int, str, int]) -> Outcome:
    seed, who, animals = job
    return lived(seed, WHO[who], animals)


def main(years: int = 40, animals: int = 60) -> bool:
    """Holds when this tool beats the plain practice by the figures of `held`."""
    jobs = [(seed, who, animals) for seed in range(FIRST, FIRST + years) for who in WHO]
    with Pool(2) as pool:
        outcomes = pool.map(_one, jobs, chunksize=4)
    found = {who: [o for (_, by, _), o in zip(jobs, outcomes, strict=True) if by == who] for who in WHO}
    for who, outcomes in found.items():
        means = ", ".join(
            f"{f.name} {np.mean([getattr(o, f.name) for o in outcomes]):.2f}" for f in fields(Outcome)
        )
        print(f"{who}: {means}")
    return held(found)


def paired_p(more: np.ndarray) -> float:
    """One-sided p of Student's paired test that the mean of the differences is above zero."""
    from scipy.special import stdtr

    error = float(more.std(ddof=1)) / len(more) ** 0.5
    return float(stdtr(len(more) - 1, -more.mean() / error)) if error else float(more.mean() <= 0)


def held(found: dict[str, list[Outcome]]) -> bool:
    """More wished-for hatchlings (paired test), no more nights, none lost, 85 % of one who knows.

    This tool knows the males chosen in the plain practice and what three others are worth to each female.
    Beside it stand the tool with the chosen males alone, where nothing but the nights differs, and the tool
    by the season's own plan, which asks for fewer clutches.
    """
    mine, plain, knows = (np.array([o.wished for o in found[w]], float) for w in list(WHO)[:3])
    nights = [sum(o.nights for o in found[w]) for w in list(WHO)[:2]]
    p = paired_p(mine - plain)
    share = mine.sum() / knows.sum()
    print(f"against the plain practice {mine.sum() / plain.sum():.3f}, p = {p:.2g} (paired t test)")
    print(f"of one who knows {share:.3f}; nights {nights[0] / nights[1]:.3f} of the plain practice's")
    lost = sum(o.lost for o in found["this tool"])
    return bool(p < 0.01 and nights[0] <= nights[1] and lost == 0 and share >= 0.85)


if __name__ == "__main__":
    sys.exit(not main(int(sys.argv[1]) if len(sys.argv) > 1 else 40))
