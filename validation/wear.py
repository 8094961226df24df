"""Males under the round's advice in simulated houses: none dies of breeding, few are rested too early.

Truth (engine/simulate): each male has a hidden reserve that sinks on every night without food, faster with
a female; its size differs between males and grows with mass; notes have gaps and slips. The house lives by
the round: who goes to whom, who is parted, who rests. Too early: he could have gone on three more weeks and
more. For comparison the same houses under the plain fixed order. The wear limits were set with houses
`SET_WITH`; those judged here are others.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import numpy as np
from scipy.special import betaincinv

from eggtooth.engine.entries import Kind
from eggtooth.engine.simulate.advised import ByTheRound
from eggtooth.engine.simulate.colony import Simulated, simulate_colony
from eggtooth.engine.simulate.policy import FixedOrder, Policy
from eggtooth.engine.simulate.truth import MaleSeason

UNTIL = date(2026, 7, 1)
TOO_EARLY_DAYS = 21
SET_WITH = (*range(300, 308), *range(400, 408), *range(1000, 1022))
FIRST_JUDGED = 2000


def outcome(seed: int, animals: int, policy: Callable[[], Policy]) -> tuple[int, int, int, list[float]]:
    """(male-seasons, died, rested, days each rested male could have gone on) in one house."""
    made: Simulated = simulate_colony(
        np.random.default_rng(seed), animals=animals, years=2, until=UNTIL, policy=policy()
    )
    males = made.truth.males
    rested = [m for m in males if m.rested and not _season_over(made, m)]
    return (
        len(males),
        sum(m.died is not None for m in males),
        len(rested),
        [m.rested_early_by_days() for m in rested],
    )


def _season_over(made: Simulated, male: MaleSeason) -> bool:
    """Whether he was rested only because the season closed, by nobody's judgement."""
    noted = [e for e in made.colony.of_animal(male.tag) if e.kind is Kind.RESTED and e.on == male.rested]
    return any("season is over" in str(e.detail) for e in noted)


def interval(k: int, n: int) -> tuple[float, float]:
    """The 95 % interval of a share of `k` in `n` (Clopper & Pearson 1934)."""
    low = float(betaincinv(k, n - k + 1, 0.025)) if k else 0.0
    return low, float(betaincinv(k + 1, n - k, 0.975)) if k < n else 1.0


def told(name: str, policy: Callable[[], Policy], houses: int, animals: int) -> tuple[int, float]:
    """Run the houses and print the figures; returns deaths and the share rested too early."""
    found = [outcome(seed, animals, policy) for seed in range(FIRST_JUDGED, FIRST_JUDGED + houses)]
    spare = np.array([d for f in found for d in f[3]])
    died, early = sum(f[1] for f in found), float(np.mean(spare > TOO_EARLY_DAYS))
    seasons = sum(f[0] for f in found)
    few, many = interval(int(np.sum(spare > TOO_EARLY_DAYS)), len(spare))
    least, most = interval(died, seasons)
    print(
        f"{name}: {seasons} male-seasons, {died} died (95 % interval {1000 * least:.1f} to "
        f"{1000 * most:.1f} in 1,000), {len(spare)} rested, {100 * early:.1f} % of them "
        f"({100 * few:.1f} to {100 * many:.1f}) three weeks too early; days left at rest "
        f"{np.percentile(spare, 5):.0f} / {np.median(spare):.0f} / {np.percentile(spare, 95):.0f} "
        "(5, 50, 95 %)",
        flush=True,
    )
    return died, early


def main(houses: int = 4, animals: int = 100) -> bool:
    """Holds when no male dies under the round and under 10 % of the rested are rested too early."""
    told("plain fixed order", FixedOrder, houses, animals)
    died, early = told("under the round", ByTheRound, houses, animals)
    return died == 0 and early < 0.10
