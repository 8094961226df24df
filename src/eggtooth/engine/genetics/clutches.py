"""From the odds of one egg to a clutch: at least so many, both sexes, several things at once, eggs needed."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import product

from eggtooth.engine.facts import Beta, Fact, Normal
from eggtooth.engine.facts.biology import (
    CLUTCH_SIZE,
    CLUTCH_SIZE_WILD_MAX,
    FERTILE_PER_EGG,
    HATCHES,
    WHOLE_CLUTCH_FAILS,
)

Chance = Fraction | float

WHOLE_UP_TO = 10_000
"""Eggs up to which a tie is settled by whole numbers."""


def at_least_one(p: Chance, eggs: int) -> Chance:
    """1 - (1 - p)^n; exact when `p` is a fraction."""
    return 1 - (1 - p) ** eggs


def some(p: Chance, eggs: int) -> float:
    """`at_least_one` as a float, to full precision also for a tiny chance or very many eggs."""
    return 1.0 if p >= 1 else -math.expm1(eggs * math.log1p(-float(p)))


def at_least(k: int, p: Chance, eggs: int) -> Chance:
    """Chance of `k` or more among `eggs`.

    Exact when `p` is a fraction (cost: k terms), else by the incomplete beta function.
    """
    if k <= 0:
        return 1 - 0 * p
    if isinstance(p, Fraction):
        return 1 - sum(
            (math.comb(eggs, i) * p**i * (1 - p) ** (eggs - i) for i in range(min(k, eggs + 1))), Fraction(0)
        )
    from scipy.special import betainc

    return float(betainc(k, eggs - k + 1, p)) if k <= eggs else 0.0


def both_sexes(males: Chance, females: Chance, eggs: int) -> Chance:
    """Chance of at least one male and one female of a kind, each egg being one with those chances."""
    return 1 - (1 - males) ** eggs - (1 - females) ** eggs + (1 - males - females) ** eggs


def at_least_each(wanted: Sequence[tuple[Chance, int]], eggs: int) -> Chance:
    """Chance of at least `k` of each of several kinds that exclude one another, given (p, k) for each.

    Cost: eggs × kinds × the product of (k + 1).
    """
    counts = _counted([p for p, _ in wanted], [k for _, k in wanted], eggs)
    return counts[tuple(k for _, k in wanted)]


def at_most_each(wanted: Sequence[tuple[Chance, int]], eggs: int) -> Chance:
    """Chance of at most `k` of each of several kinds that exclude one another. Cost as `at_least_each`."""
    counts = _counted([p for p, _ in wanted], [k + 1 for _, k in wanted], eggs)
    return sum(
        (p for at, p in counts.items() if all(c <= k for c, (_, k) in zip(at, wanted, strict=True))),
        0 * wanted[0][0],
    )


def _counted(odds: Sequence[Chance], caps: Sequence[int], eggs: int) -> dict[tuple[int, ...], Chance]:
    """Distribution of the counts of each kind after `eggs` eggs, counts held at their cap."""
    start = tuple(0 for _ in caps)
    none: Chance = 0 * odds[0]
    now = dict.fromkeys(product(*(range(c + 1) for c in caps)), none)
    now[start] = 1 + none
    rest = 1 - sum(odds)
    for _ in range(eggs):
        after: dict[tuple[int, ...], Chance] = {at: p * rest for at, p in now.items()}
        for at, p in now.items():
            for i, chance in enumerate(odds):
                to = (*at[:i], min(at[i] + 1, caps[i]), *at[i + 1 :])
                after[to] += p * chance
        now = after
    return now


def eggs_needed(p: Chance, confidence: Chance, k: int = 1) -> int | None:
    """Fewest eggs for at least `k` with the confidence asked; None when it can never be.

    For fractions, k = 1 and up to `WHOLE_UP_TO` eggs exact at the boundary (compared as whole numbers); for
    k > 1 by bisection on the binomial tail in floats. Raises `ValueError` for a confidence outside 0 to 1.
    """
    if not 0 < confidence < 1:
        raise ValueError(f"a confidence lies between 0 and 1, not {confidence}")
    if p <= 0:
        return None
    if p >= 1:
        return k
    if k == 1:
        return _fewest(p, confidence)
    return _bisected(lambda n: float(at_least(k, float(p), n)) >= float(confidence), k)


def _fewest(p: Chance, confidence: Chance) -> int:
    """By logarithms; where their rounding could decide, by whole numbers."""
    eggs = math.log1p(-float(confidence)) / math.log1p(-float(p))
    near = round(eggs)
    if not 1 <= near <= WHOLE_UP_TO or abs(eggs - near) > 1e-9 * near:
        return max(1, math.ceil(eggs))
    return near if 1 - (1 - p) ** near >= confidence else near + 1


def eggs_for_both_sexes(males: Chance, females: Chance, confidence: float) -> int | None:
    """Fewest eggs for at least one of each sex of a kind; None when one of them cannot be."""
    if males <= 0 or females <= 0:
        return None
    m, f = float(males), float(females)
    return _bisected(lambda n: float(both_sexes(m, f, n)) >= confidence, 2)


def _bisected(enough: Callable[[int], bool], least: int) -> int:
    """Smallest n from `least` up for which a monotone question is answered yes."""
    high = least
    while not enough(high):
        high *= 2
    low = max(least - 1, high // 2 if high > least else least - 1)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


@dataclass(frozen=True, slots=True)
class Clutch:
    """How many hatchlings a clutch gives: `hatchlings[m]` is the chance of m, genetic losses not counted."""

    hatchlings: tuple[float, ...]

    def at_least(self, k: int, p: Chance) -> float:
        """Chance that a clutch brings at least `k` of a look that a fertile egg has with chance `p`."""
        each = (
            some(p, m) if k == 1 else float(at_least(k, float(p), m)) for m in range(len(self.hatchlings))
        )
        return math.fsum(w * chance for w, chance in zip(self.hatchlings, each, strict=True))

    def both_sexes(self, males: Chance, females: Chance) -> float:
        """Chance that a clutch brings at least one male and one female of a kind."""
        m, f = float(males), float(females)
        return math.fsum(w * both_sexes(m, f, n) for n, w in enumerate(self.hatchlings))

    def expected(self, p: Chance) -> float:
        """Mean number of a look in a clutch."""
        return float(p) * math.fsum(m * w for m, w in enumerate(self.hatchlings))


def spread_clutch(
    size: Fact = CLUTCH_SIZE,
    fertile: Fact = FERTILE_PER_EGG,
    fails: Fact = WHOLE_CLUTCH_FAILS,
    hatches: Fact = HATCHES,
) -> Clutch:
    """A clutch of unknown size and fertility, from the facts.

    Size normal, rounded and cut to 1 .. the largest counted; the whole clutch infertile with a small chance;
    fertile eggs and, of these, hatching eggs each with a share that varies from clutch to clutch (beta) and
    is the same for all eggs of one clutch.
    """
    return _spread_clutch(*(_shape(fact) for fact in (size, fertile, hatches)), fails.value)


def _shape(fact: Fact) -> Normal | Beta:
    if not isinstance(fact.spread, Normal | Beta):
        raise ValueError(f"{fact.name!r} needs a normal or beta spread")
    return fact.spread


@lru_cache(maxsize=64)
def _spread_clutch(size: Normal, fertile: Beta, hatches: Beta, fails: float) -> Clutch:
    from statistics import NormalDist

    largest, bell = int(CLUTCH_SIZE_WILD_MAX.value), NormalDist(size.mean, size.sd)
    eggs = [0.0] + [bell.cdf(n + 0.5) - bell.cdf(n - 0.5) for n in range(1, largest + 1)]
    laid = [p / math.fsum(eggs) for p in eggs]
    hatched = _thinned(_thinned(laid, fertile), hatches)
    return Clutch(tuple(p * (1 - fails) + (fails if m == 0 else 0) for m, p in enumerate(hatched)))


def _thinned(counts: Sequence[float], share: Beta) -> list[float]:
    """Distribution of how many are kept when each is kept with a share drawn once for all (beta-binomial)."""
    kept = [0.0] * len(counts)
    for n, weight in enumerate(counts):
        for m in range(n + 1):
            kept[m] += (
                weight * math.comb(n, m) * _beta(m + share.a, n - m + share.b) / _beta(share.a, share.b)
            )
    return kept


def _beta(a: float, b: float) -> float:
    return math.exp(math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b))
