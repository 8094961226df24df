"""How many fertile eggs a step needs, its parents being what they may be.

For one animal sought and sure parents n = ln(1 - g) / ln(1 - p), rounded up. A confidence G for a whole route
is shared by its steps: g = G^(1/k) for each of the k that do not come for certain, after De Beukelaer et al.
2015 and Servin et al. 2004; a step that seeks several animals brings all of them with g.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from eggtooth.engine.genetics.clutches import at_least, at_least_each, eggs_needed, some
from eggtooth.engine.planning.generations.chances import RouteChance, StepChance
from eggtooth.engine.planning.generations.goal import Heredity
from eggtooth.engine.planning.generations.structure import Route, Step

CONFIDENCES = (0.90, 0.95)

MOST_EGGS = 1_000_000
"""Beyond so many eggs the answer is that no number would do."""

Case = tuple[float, tuple[float, ...]]
"""A chance of the parents being a certain pair, and for each kind sought the chance of an egg being it."""


@dataclass(frozen=True, slots=True)
class EggsNeeded:
    """Chance of an egg being sought, chance of the step in its seasons, eggs for each confidence.

    `needed[i]` goes with `CONFIDENCES[i]`, for the step alone; None when no number of eggs is enough, since
    the parents may not carry what is sought. `shared[i]` is the same where the whole route is to have that
    confidence.
    """

    each: tuple[float, ...]
    step: float
    needed: tuple[int | None, ...]
    shared: tuple[int | None, ...]

    @property
    def p(self) -> float:
        """Chance that an egg is one of those sought."""
        return math.fsum(self.each)


def eggs_of(route: Route, chance: RouteChance, heredity: Heredity) -> Mapping[Step, EggsNeeded]:
    """Eggs for every step of a route."""
    cases = {step: _cases(part, heredity) for step, part in chance.steps.items()}
    certain = {s: all(min(odds) >= 1 for _, odds in found) for s, found in cases.items()}
    uncertain = sum(not sure for sure in certain.values())
    shares = [g ** (1 / max(1, uncertain)) for g in CONFIDENCES]
    return {step: _needed(part, cases[step], shares) for step, part in chance.steps.items()}


def _needed(part: StepChance, cases: Sequence[Case], shares: Sequence[float]) -> EggsNeeded:
    step, begun = part.step, math.fsum(w for starts in part.begun.values() for w in starts)
    counts = tuple(w.count for w in step.seeks)
    each = tuple(math.fsum(w * odds[i] for w, odds in cases) for i in range(len(counts)))
    return EggsNeeded(
        each,
        math.fsum(part.done) / begun if begun else 0.0,
        tuple(fewest(cases, counts, g) for g in CONFIDENCES),
        tuple(fewest(cases, counts, g) for g in shares),
    )


def _cases(part: StepChance, heredity: Heredity) -> list[Case]:
    """Pairs as they are when the step begins, each female of it for itself, with their odds."""
    total = math.fsum(w for starts in part.begun.values() for w in starts)
    found: dict[tuple[float, ...], float] = {}
    for (sire, dams), starts in part.begun.items():
        for dam in dams:
            odds = tuple(heredity.chance(sire, dam, w) for w in part.step.seeks)
            found[odds] = found.get(odds, 0.0) + math.fsum(starts) / total / len(dams)
    return [(w, odds) for odds, w in found.items()]


def fewest(cases: Sequence[Case], counts: tuple[int, ...], confidence: float) -> int | None:
    """Fewest eggs of one pair with which all sought come with the confidence; None when never."""
    able = math.fsum(w for w, odds in cases if min(odds) > 0)
    if able < confidence:
        return None
    if len(cases) == 1 and len(counts) == 1:
        return eggs_needed(cases[0][1][0], confidence, counts[0])
    high = sum(counts)
    while _chance(cases, counts, high) < confidence:
        high *= 2
        if high > MOST_EGGS:
            return None
    low = high // 2 if high > sum(counts) else high - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _chance(cases, counts, middle) >= confidence else (middle, high)
    return high


def _chance(cases: Sequence[Case], counts: tuple[int, ...], eggs: int) -> float:
    return math.fsum(w * _of_pair(odds, counts, eggs) for w, odds in cases if min(odds) > 0)


def _of_pair(odds: tuple[float, ...], counts: tuple[int, ...], eggs: int) -> float:
    if len(odds) > 1:
        return float(at_least_each(list(zip(odds, counts, strict=True)), eggs))
    return some(odds[0], eggs) if counts[0] == 1 else float(at_least(counts[0], odds[0], eggs))
