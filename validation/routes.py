"""Routes of invented stocks: stated chances against lives played out, the fast search against all routes.

Wishes are drawn from recessives, incomplete dominants, complexes and a sex-linked gene; founders from hets,
possible hets, visuals and supers; seasons, waits, limits, numbers wanted and clutches vary. The player of
lives draws every gamete and knows nothing of the exact calculation but the policy.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import binom
from tests.route_cases import searched, task

from eggtooth.engine.planning.generations.front import Way
from eggtooth.engine.planning.generations.replay import replay
from eggtooth.engine.planning.generations.search import Search, Task
from eggtooth.engine.planning.generations.seasons import usual_season

WISHES = (
    ("Clown", ("Clown", "het Clown", "66% het Clown", "50% het Clown", "Normal")),
    ("Clown Piebald", ("Clown", "Piebald", "het Clown Piebald", "66% het Clown Piebald", "Normal")),
    ("Lesser Mojave", ("Lesser", "Mojave", "Butter", "Lesser Butter", "Normal")),
    ("Super Mojave Clown", ("Mojave", "het Clown", "Mojave het Clown", "Clown", "Lesser")),
    ("Banana Clown female", ("Banana", "het Clown", "Clown", "Banana het Clown", "Normal")),
    ("Banana male", ("Banana", "Normal", "Super Banana")),
    ("Super Pastel Piebald", ("Pastel", "Super Pastel", "het Piebald", "50% het Piebald", "Pastel Piebald")),
    ("het Clown Piebald", ("Clown", "Piebald", "66% het Piebald", "Normal")),
    ("Pastel Enchi Clown", ("Pastel", "Enchi", "Clown", "Pastel het Clown", "66% het Clown")),
)  # fmt: skip

LEVEL = 0.99
LIVES = 2000


@dataclass
class Tally:
    """Routes played out, those outside their interval, and the worst tail."""

    routes: int = 0
    outside: int = 0
    worst: float = 1.0

    def add(self, p: float, hits: int) -> None:
        """Judge one route by the binomial interval around its stated chance."""
        low, high = binom.ppf((1 - LEVEL) / 2, LIVES, p), binom.ppf((1 + LEVEL) / 2, LIVES, p)
        tail = 2 * min(binom.cdf(hits, LIVES, p), binom.sf(hits - 1, LIVES, p))
        self.routes += 1
        self.outside += not low <= hits <= high
        self.worst = min(self.worst, float(tail))

    @property
    def holds(self) -> bool:
        """No more outside than chance allows (99.9 %), and none beyond what so many routes would show."""
        return self.outside <= binom.ppf(0.999, self.routes, 1 - LEVEL) and self.worst > 0.001 / max(
            1, self.routes
        )


def drawn(rng: np.random.Generator, animals: int, beside: int) -> Task:
    """A stock and a wish."""
    wish, genes = WISHES[rng.integers(len(WISHES))]
    males = {f"M{i}": str(rng.choice(genes)) for i in range(rng.integers(1, animals))}
    females = {f"F{i}": str(rng.choice(genes)) for i in range(rng.integers(1, animals + 1))}
    return task(
        wish,
        males,
        females,
        int(rng.integers(2, 5)),
        limit=float(rng.choice([0.125, 0.25])),
        count=int(rng.integers(1, 3)),
        hatchlings=usual_season(float(rng.choice([0.7, 1.0]))),
        side_by_side=beside,
        in_full=0,
        after=(1, int(rng.integers(1, 3))),
        from_season={tag: int(rng.integers(1, 3)) for tag in (*males, *females)},
        most_clutches=10,
    )


def some_ways(search: Search, rng: np.random.Generator, most: int) -> list[Way]:
    """A few ways: of the front, and beaten ones with young held back."""
    ways = list(dict.fromkeys((*search.front.ordered(), *search.leaders.all())))
    return [ways[i] for i in rng.permutation(len(ways))[:most]]


def replayed(stocks: int, each: int, seed: int) -> Tally:
    """Lives against chances for routes of many stocks."""
    rng, tally = np.random.default_rng(seed), Tally()
    for _ in range(stocks):
        asked = drawn(rng, 4, int(rng.integers(1, 3)))
        for way in some_ways(searched(asked), rng, each):
            share = replay(way.route, asked.choices.heredity, asked.chances.hatchlings, LIVES, rng)
            tally.add(way.p, round(share * LIVES))
    return tally


def gap(stocks: int, seed: int) -> tuple[int, int, float]:
    """Stocks small enough for every route; those whose front the fast search missed; the largest shortfall.

    The shortfall of a route of the full front is its chance less the best of the fast front within its costs.
    """
    rng = np.random.default_rng(seed)
    compared, missed, largest = 0, 0, 0.0
    for _ in range(stocks):
        fast = replace(drawn(rng, 3, 1), most_clutches=100)
        full = searched(replace(fast, routes_in_full=20_000))
        if not full.complete:
            continue
        compared += 1
        front = searched(fast).front
        short = max((w.p - _best(front.ways, w) for w in full.front.ways), default=0.0)
        missed += short > 1e-9
        largest = max(largest, short)
    return compared, missed, largest


def _best(ways: list[Way], way: Way) -> float:
    within = (w.p for w in ways if all(a <= b for a, b in zip(w.costs, way.costs, strict=True)))
    return max(within, default=0.0)


def main() -> bool:
    """Print the figures; True when they hold."""
    tally = replayed(120, 3, 1)
    print(
        f"{tally.routes} routes, {LIVES} lives each: {tally.outside} outside their {LEVEL:.0%} interval "
        f"({(1 - LEVEL) * tally.routes:.1f} expected), smallest tail {tally.worst:.2g}"
    )
    compared, missed, largest = gap(120, 2)
    print(
        f"{compared} stocks small enough for every route: the fast search missed part of the front in "
        f"{missed}, by a chance of {largest:.3f} at most"
    )
    return tally.holds and missed <= 0.1 * compared
