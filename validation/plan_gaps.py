"""Plans of pairs over many invented houses: every rule kept, the gap proven, never below greedy, honest odds.

Fails when a plan breaks a rule or is worth less than greedy's, when a gap is above 0.1 % (houses of 40 males
and 100 females) or 1 % (300 and 800), or when seasons drawn by chance do not bear out the odds it states.
"""

from __future__ import annotations

import math
import time

import numpy as np
from benchmarks.pairings import colony

from eggtooth.engine.genetics.clutches import spread_clutch
from eggtooth.engine.planning.improving import greedy
from eggtooth.engine.planning.outlook import at_least
from eggtooth.engine.planning.plan_rules import Choice, broken, value_of
from eggtooth.engine.planning.solving import NEAR, solve
from eggtooth.engine.planning.spares import spares

HOUSES = ((40, 100, 0.001, (1, 2, 5, 20)), (300, 800, 0.01, (3, 30)))
SEEDS = {40: range(10), 300: range(100, 102)}
SECONDS = 60.0
SEASONS = 20_000


def main() -> bool:
    """All houses, then the odds; whether every number holds."""
    missed = 0
    for males, females, most, wanted in HOUSES:
        for times in wanted:
            missed += gaps(males, females, times, most, SEEDS[males])
    missed += odds(np.random.default_rng(1), SEASONS)
    return missed == 0


def gaps(males: int, females: int, times: int, most: float, seeds: range) -> int:
    """Solve one kind of house for each seed; returns how many miss."""
    worst, ratios, seconds, missed = 0.0, [], [], 0
    for seed in seeds:
        stakes = colony(seed, times, males, females)
        until = (start := time.monotonic()) + SECONDS
        found = solve(stakes, NEAR, lambda until=until: until - time.monotonic())  # type: ignore[misc]
        seconds.append(time.monotonic() - start)
        choice = Choice(found.firsts, spares(stakes, found.firsts))
        simple = stakes.worth(greedy(stakes))
        gap, off = 1 - found.value / found.bound, abs(value_of(stakes, choice) - found.value)
        missed += bool(broken(stakes, choice)) or gap > most or off > 1e-7 or found.value < simple - 1e-9
        worst = max(worst, gap)
        ratios.append(found.value / simple)
    print(
        f"{males} x {females}, {times} to {3 * times} wanted, {len(seeds)} houses: gap up to {worst:.1e}, "
        f"over greedy {min(ratios):.4f} to {max(ratios):.4f}, {max(seconds):.1f} s at most",
        flush=True,
    )
    return missed


def odds(rng: np.random.Generator, seasons: int) -> int:
    """Chance of as many as wanted against seasons drawn egg by egg; misses beyond four standard errors."""
    hatchlings = np.array(spread_clutch().hatchlings)
    missed = 0
    for count in (1, 2, 5):
        clutches = [(float(rng.choice([0.0625, 0.25, 0.5])), float(rng.uniform(0.2, 0.9))) for _ in range(6)]
        said = at_least(count, [(p, comes, tuple(hatchlings)) for p, comes in clutches])
        seen = np.zeros(seasons, dtype=int)
        for p, comes in clutches:
            young = rng.choice(len(hatchlings), size=seasons, p=hatchlings / hatchlings.sum())
            seen += rng.binomial(young * (rng.random(seasons) < comes), p)
        came = float((seen >= count).mean())
        error = math.sqrt(said * (1 - said) / seasons)
        print(f"at least {count} of six clutches: said {said:.4f}, came {came:.4f} in {seasons} seasons")
        missed += abs(came - said) > 4 * error + 1e-9
    return missed


if __name__ == "__main__":
    raise SystemExit(not main())
