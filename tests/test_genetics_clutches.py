"""Clutch odds and eggs needed against the usual tables of the binomial."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from scipy.stats import betabinom, binom, norm

from eggtooth.engine.facts.biology import CLUTCH_SIZE, FERTILE_PER_EGG, HATCHES, WHOLE_CLUTCH_FAILS
from eggtooth.engine.genetics.clutches import (
    at_least,
    at_least_each,
    at_least_one,
    at_most_each,
    both_sexes,
    eggs_for_both_sexes,
    eggs_needed,
    some,
    spread_clutch,
)

F = Fraction
CHANCES = [F(1, 2**i) for i in range(1, 11)]

# n = ceil(ln(1 - P) / ln(1 - p)); computed.
NEEDED = {
    90: [4, 9, 18, 36, 73, 147, 294, 589, 1178, 2357],
    95: [5, 11, 23, 47, 95, 191, 382, 766, 1533, 3067],
    99: [7, 17, 35, 72, 146, 293, 588, 1177, 2356, 4714],
}
OTHERS = {
    "3/4": (2, 3, 4), "3/8": (5, 7, 10), "3/16": (12, 15, 23), "9/16": (3, 4, 6), "1/3": (6, 8, 12),
    "2/3": (3, 3, 5),
}  # fmt: skip


@pytest.mark.parametrize("confidence", NEEDED)
def test_eggs_for_at_least_one(confidence: int) -> None:
    assert [eggs_needed(p, F(confidence, 100)) for p in CHANCES] == NEEDED[confidence]


@pytest.mark.parametrize("p", OTHERS)
def test_eggs_for_other_chances(p: str) -> None:
    assert tuple(eggs_needed(F(p), F(c, 100)) for c in (90, 95, 99)) == OTHERS[p]


def test_eggs_needed_at_the_very_boundary() -> None:
    # Three eggs at one half give exactly 7/8; a hair more asks for a fourth.
    assert eggs_needed(F(1, 2), F(7, 8)) == 3
    assert eggs_needed(F(1, 2), F(7, 8) + F(1, 10**15)) == 4
    assert eggs_needed(F(0), F(1, 2)) is None
    assert eggs_needed(F(1), F(1, 2), 3) == 3
    with pytest.raises(ValueError, match="between 0 and 1"):
        eggs_needed(F(1, 2), F(1))


@pytest.mark.parametrize(
    ("p", "at_95", "at_99"),
    [
        # At least k = 1..5 by the exact binomial (computed; the classic table of this kind is Sedcole 1977).
        ("1/2", (5, 8, 11, 13, 16), (7, 11, 14, 17, 19)),
        ("1/4", (11, 18, 23, 29, 34), (17, 24, 31, 37, 43)),
        ("1/8", (23, 37, 49, 60, 71), (35, 51, 64, 77, 89)),
        ("1/16", (47, 75, 99, 122, 144), (72, 104, 132, 158, 182)),
        ("1/64", (191, 302, 401, 494, 584), (293, 423, 535, 640, 739)),
    ],
)
def test_eggs_for_at_least_k(p: str, at_95: tuple[int, ...], at_99: tuple[int, ...]) -> None:
    assert tuple(eggs_needed(F(p), 0.95, k) for k in range(1, 6)) == at_95
    assert tuple(eggs_needed(F(p), 0.99, k) for k in range(1, 6)) == at_99


@pytest.mark.parametrize(
    ("eggs", "printed"),
    [
        (4, (0.9375, 0.6836, 0.4138, 0.2275, 0.1193, 0.0611)),
        (6, (0.9844, 0.8220, 0.5512, 0.3211, 0.1734, 0.0902)),
        (8, (0.9961, 0.8999, 0.6564, 0.4033, 0.2243, 0.1184)),
        (10, (0.9990, 0.9437, 0.7369, 0.4755, 0.2720, 0.1457)),
    ],
)
def test_at_least_one_by_clutch(eggs: int, printed: tuple[float, ...]) -> None:
    for p, shown in zip(CHANCES, printed, strict=False):
        assert float(at_least_one(p, eggs)) == pytest.approx(shown, abs=5.1e-5)
        assert float(at_least_one(p, eggs)) == pytest.approx(binom.sf(0, eggs, float(p)), abs=1e-12)
        assert some(p, eggs) == pytest.approx(float(at_least_one(p, eggs)), abs=1e-14)


def test_at_least_k_equals_the_binomial_tail() -> None:
    for k in range(8):
        exact = at_least(k, F(3, 16), 12)
        assert float(exact) == pytest.approx(binom.sf(k - 1, 12, 3 / 16), abs=1e-12)
        assert float(at_least(k, 3 / 16, 12)) == pytest.approx(float(exact), abs=1e-12)


@pytest.mark.parametrize(("p", "eggs"), [("1", 6), ("1/2", 13), ("1/4", 28), ("1/16", 116)])
def test_eggs_for_both_sexes(p: str, eggs: int) -> None:
    # 1 - 2 (1 - p/2)^n + (1 - p)^n, halves, 95 % (computed).
    half = F(p) / 2
    assert eggs_for_both_sexes(half, half, 0.95) == eggs
    assert both_sexes(half, half, eggs) == 1 - 2 * (1 - half) ** eggs + (1 - F(p)) ** eggs


@pytest.mark.parametrize(("r", "eggs"), [("0.05", 119), ("0.07", 85), ("0.10", 59)])
def test_eggs_for_the_rare_banana_sex(r: str, eggs: int) -> None:
    assert eggs_needed(F(r) / 2, F(95, 100)) == eggs


@pytest.mark.parametrize(("r", "eggs"), [("0.05", 5), ("0.07", 5), ("0.10", 6)])
def test_eggs_for_the_usual_banana_sex(r: str, eggs: int) -> None:
    assert eggs_needed((1 - F(r)) / 2, F(95, 100)) == eggs


def test_several_kinds_at_once() -> None:
    # Unit-test values of a published gene-stacking program: De Beukelaer et al. 2015, BMC Genetics 16:2.
    a, b = 0.10, 0.30
    assert at_most_each([(a, 0)], 100) == pytest.approx(2.65614e-5, rel=1e-5)
    assert at_most_each([(a, 1)], 100) == pytest.approx(3.21688e-4, rel=1e-5)
    assert at_most_each([(a, 3)], 100) == pytest.approx(7.83649e-3, rel=1e-5)
    assert at_least_each([(a, 1)], 100) == pytest.approx(0.999973, abs=1e-6)
    assert at_least_each([(a, 2)], 100) == pytest.approx(0.999678, abs=1e-6)
    assert at_least_each([(F(1, 10), 2)], 3) == F(28, 1000)
    assert at_most_each([(a, 0), (b, 0)], 1000) == pytest.approx(1.41661e-222, rel=1e-5)
    assert at_most_each([(a, 1), (b, 3)], 300) == pytest.approx(8.00269e-60, rel=1e-5)
    assert at_least_each([(F(1, 10), 1), (F(3, 10), 1)], 5) == F("0.3192")
    assert at_least_each([(a, 1), (b, 1)], 100) == pytest.approx(0.999973, abs=1e-6)
    assert at_least_each([(a, 1), (b, 2)], 10) == pytest.approx(0.538293, abs=1e-6)
    assert at_least_each([(a, 1), (b, 2)], 50) == pytest.approx(0.994846, abs=1e-6)


def test_the_spread_clutch_equals_scipy() -> None:
    sizes = np.arange(1, 16)
    laid = norm.cdf(sizes + 0.5, 6.3, 1.9) - norm.cdf(sizes - 0.5, 6.3, 1.9)
    laid /= laid.sum()
    hatched = np.zeros(16)
    for n, weight in zip(sizes, laid, strict=True):
        for fertile in range(n + 1):
            p = weight * betabinom.pmf(fertile, n, 18, 2)
            hatched[: fertile + 1] += p * betabinom.pmf(np.arange(fertile + 1), fertile, 17, 3)
    hatched *= 1 - WHOLE_CLUTCH_FAILS.value
    hatched[0] += WHOLE_CLUTCH_FAILS.value
    clutch = spread_clutch()
    assert clutch.hatchlings == pytest.approx(hatched, abs=1e-12)
    assert math.fsum(clutch.hatchlings) == pytest.approx(1, abs=1e-12)
    mean = 0.95 * (sizes @ laid) * FERTILE_PER_EGG.value * HATCHES.value
    assert clutch.expected(F(1, 4)) == pytest.approx(mean / 4, abs=1e-9)
    assert CLUTCH_SIZE.value == 6.3
    tail = sum(w * binom.sf(1, m, 0.25) for m, w in enumerate(hatched))
    assert clutch.at_least(2, F(1, 4)) == pytest.approx(tail, abs=1e-12)


def test_a_clutch_of_unknown_size_promises_less_than_six_eggs_all_hatching() -> None:
    assert spread_clutch().at_least(1, F(1, 4)) < at_least_one(F(1, 4), 6)
    assert spread_clutch().both_sexes(F(1, 8), F(1, 8)) < spread_clutch().at_least(2, F(1, 4))
