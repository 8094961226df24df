"""Routes to a wish of three and four genes in a colony of 300 animals; the rival draws routes at random.

The rival is given the same time and the same exact chances, and puts together whatever pairs may meet. The
figure for a front is the mean, over all seasons, clutches and animals held that were allowed, of the best
chance within them.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from time import perf_counter

import numpy as np

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.generations.choices import Choices
from eggtooth.engine.planning.generations.everything import begins, may_meet
from eggtooth.engine.planning.generations.front import Front
from eggtooth.engine.planning.generations.search import Search, Task
from eggtooth.engine.planning.generations.structure import Kept, Parent, Route, Step
from eggtooth.jobs.gather import Source
from eggtooth.jobs.generations import Asked, task_of

ON = date(2026, 11, 25)
GENES = ("Clown", "Piebald", "Desert Ghost", "Albino", "Pastel", "Enchi", "Mojave", "Banana")
HIDDEN = 4
"""The first so many genes are recessive."""

WISHES = (("Clown Piebald Pastel", 3), ("Clown Piebald Pastel", 4), ("Clown Piebald Pastel Enchi", 3),
          ("Clown Piebald Pastel Enchi", 4))  # fmt: skip
SECONDS = (4, 30)


def colony(animals: int = 300, seed: int = 1) -> Colony:
    """Founders with a gene or two, their young with what they happened to get, as a keeper would write it."""
    rng = np.random.default_rng(seed)
    copies: list[np.ndarray] = []
    made: list[Animal] = []
    for n in range(animals):
        old = n < animals // 3
        sex = Sex.MALE if n % 3 == 0 else Sex.FEMALE
        parents = None if old else _parents(rng, made)
        held = _founder(rng) if parents is None else _young(rng, copies[parents[0]], copies[parents[1]])
        copies.append(held)
        hatched = date(2021, 7, 1) if old else date(2023 + n % 3, 7, 1)
        sire, dam = ("", "") if parents is None else (made[parents[0]].tag, made[parents[1]].tag)
        made.append(
            Animal(f"{sex.value}{n:03}", sex, "", hatched, _written(held, old), (sire,) if sire else (), dam)
        )
    return Colony.of(made)


def _parents(rng: np.random.Generator, made: list[Animal]) -> tuple[int, int]:
    third = len(made) if len(made) < 100 else 100
    males = [i for i, a in enumerate(made[:third]) if a.sex is Sex.MALE]
    females = [i for i, a in enumerate(made[:third]) if a.sex is Sex.FEMALE]
    return int(rng.choice(males)), int(rng.choice(females))


def _founder(rng: np.random.Generator) -> np.ndarray:
    held = np.zeros(len(GENES), dtype=int)
    for gene in rng.choice(len(GENES), size=rng.integers(1, 3), replace=False):
        held[gene] = 2 if gene < HIDDEN and rng.random() < 0.4 else 1
    return held


def _young(rng: np.random.Generator, sire: np.ndarray, dam: np.ndarray) -> np.ndarray:
    return (rng.random(len(GENES)) < sire / 2).astype(int) + (rng.random(len(GENES)) < dam / 2)


def _written(held: np.ndarray, old: bool) -> str:
    """A founder's hets are known; of young only the look is."""
    shown = [GENES[i] if i < HIDDEN or c == 1 else f"Super {GENES[i]}"
             for i, c in enumerate(held) if c == 2 or (c == 1 and i >= HIDDEN)]  # fmt: skip
    hets = [GENES[i] for i, c in enumerate(held) if c == 1 and i < HIDDEN and old]
    return " ".join([*shown, *(["het", *hets] if hets else [])]) or "Normal"


def worth(front: Front, task: Task) -> float:
    """Mean, over all costs allowed, of the best chance within them; animals held up to six."""
    costs = [(s, c, h) for s in range(1, task.times.seasons + 1) for c in range(1, task.most_clutches + 1)
             for h in range(7)]  # fmt: skip
    ways = [(w.costs, w.p) for w in front.ways]
    best = (
        max((p for have, p in ways if all(a <= b for a, b in zip(have, most, strict=True))), default=0.0)
        for most in costs
    )
    return sum(best) / len(costs)


def searched(task: Task, seconds: float) -> tuple[Search, float]:
    """A search stopped after so long, and how long it took."""
    start = perf_counter()
    search = Search(task, lambda: perf_counter() - start > seconds)
    for state in search.run():
        search = state
    return search, perf_counter() - start


def at_random(task: Task, seconds: float, rng: np.random.Generator) -> tuple[Front, int]:
    """Routes put together by chance for so long."""
    start, front, tried = perf_counter(), Front(), 0
    males: list[Parent] = list(task.stock.males)
    females: list[Parent] = list(task.stock.females)
    while perf_counter() - start < seconds:
        male, female = males[rng.integers(len(males))], females[rng.integers(len(females))]
        if not may_meet(male, (female,), task.rules, task.choices):
            continue
        first = begins(male, (female,), task.times)
        if first <= task.times.seasons and task.choices.makes(male, (female,), task.choices.wish):
            tried += 1
            last = Step(male, (female,), (task.choices.wish,), int(rng.integers(1, task.times.seasons + 1)))
            front.add(task.way(Route(last, task.times.seasons, task.times).trimmed()))
        sex = Sex.MALE if rng.random() < 0.5 else Sex.FEMALE
        if first + task.times.after(sex) <= task.times.seasons:
            young = _kept(task.choices, male, female, sex, rng)
            (males if sex is Sex.MALE else females).extend(young)
    return front, tried


def _kept(
    choices: Choices, male: Parent, female: Parent, sex: Sex, rng: np.random.Generator
) -> Iterable[Parent]:
    ways = list(choices.ways(male, (female,), sex))
    return [Kept(Step(male, (female,), (ways[rng.integers(len(ways))],)), 0)] if ways else []


def main() -> None:
    """Print the figures."""
    source = Source(colony(), Settings())
    for wish, seasons in WISHES:
        start = perf_counter()
        task = task_of(Asked(wish, seasons), source, ON)
        ready = perf_counter() - start
        for seconds in SECONDS:
            search, took = searched(task, seconds)
            rival, tried = at_random(task, took, np.random.default_rng(0))
            ours, theirs = worth(search.front, task), worth(rival, task)
            best = max((w.p for w in search.front.ways), default=0.0)
            print(
                f"{wish}, {seasons} seasons: odds {ready:.1f} s, search {took:.1f} s "
                f"({'stopped' if search.stopped else 'to its end'}), {search.looked_at} routes, "
                f"{len(search.front.ways)} not beaten, best {best:.3f}; mean best chance {ours:.4f}, "
                f"at random ({tried} routes) {theirs:.4f}"
            )


if __name__ == "__main__":
    main()
