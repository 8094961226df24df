"""What more of the same wish is worth, against Poisson and binomial counts from a library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, poisson

from eggtooth.engine.genetics.clutches import spread_clutch
from eggtooth.engine.planning.diminishing import by_table, capped, effective, share, slope
from eggtooth.engine.planning.outlook import at_least, brought
from tests.oracles import plans

HATCHLINGS = spread_clutch().hatchlings
MEANS = np.array([0.0, 1e-6, 0.02, 0.3, 1.0, 2.5, 7.0, 30.0])


@pytest.mark.parametrize("count", [1, 2, 3, 7, 40])
def test_share_and_slope_are_those_of_a_poisson_count(count: int) -> None:
    k = np.arange(400)
    for m, found, rise in zip(MEANS, share(MEANS, count), slope(MEANS, count), strict=True):
        assert found == pytest.approx((poisson.pmf(k, m) * np.minimum(k, count)).sum() / count, abs=1e-12)
        assert rise == pytest.approx(poisson.cdf(count - 1, m) / count, abs=1e-12)
        assert found == pytest.approx(plans.share(float(m), count), abs=1e-9)


@given(st.integers(1, 60), st.floats(0, 200))
@settings(max_examples=60, deadline=None)
def test_the_table_and_the_inverse_agree_with_share(count: int, m: float) -> None:
    assert float(by_table(m, count)) == pytest.approx(float(share(m, count)), abs=3e-6)
    if float(share(m, count)) < 0.999:
        back = effective(np.array([count * float(share(m, count))]), count)[0]
        assert float(share(back, count)) == pytest.approx(float(share(m, count)), abs=1e-9)


@pytest.mark.parametrize("count", [1, 2, 4, 20])
def test_capped_is_the_mean_of_the_capped_binomial(count: int) -> None:
    p = np.array([0.0, 1 / 16, 0.25, 0.5, 1.0])
    k = np.arange(len(HATCHLINGS))
    for chance, found in zip(p, capped(HATCHLINGS, p, count), strict=True):
        mean = sum(
            h * (binom.pmf(k, m, chance) * np.minimum(k, count)).sum() for m, h in enumerate(HATCHLINGS)
        )
        assert found == pytest.approx(mean, abs=1e-12)


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), max_size=6))
@settings(max_examples=40, deadline=None)
def test_the_worth_of_one_wanted_is_the_exact_chance_of_at_least_one(
    clutches: list[tuple[float, float]],
) -> None:
    means = sum(float(effective(comes * capped(HATCHLINGS, np.array(p), 1), 1)) for p, comes in clutches)
    exact = at_least(1, [(p, comes, HATCHLINGS) for p, comes in clutches])
    assert float(share(means, 1)) == pytest.approx(exact, abs=1e-9)


def test_the_worth_of_several_wanted_from_several_pairs_is_near_the_exact_share() -> None:
    rng = np.random.default_rng(5)
    far = []
    for _ in range(60):
        count = int(rng.integers(2, 7))
        clutches = [
            (float(rng.choice([1 / 8, 1 / 4, 1 / 2])), float(rng.uniform(0.3, 0.95))) for _ in range(5)
        ]
        means = sum(
            float(effective(comes * capped(HATCHLINGS, np.array(p), count), count)) for p, comes in clutches
        )
        parts = [(p, comes, HATCHLINGS) for p, comes in clutches]
        exact = sum(at_least(k, parts) for k in range(1, count + 1)) / count
        far.append(float(share(means, count)) - exact)
    # A little too hopeful, since whole clutches come or stay away together: seen 0.03 on average,
    # 0.06 at most.
    assert min(far) > -0.01 and max(far) < 0.07 and float(np.mean(far)) < 0.035


def test_chance_of_a_count_over_clutches_by_adding_up_all_ways() -> None:
    two = [(0.25, 0.7, HATCHLINGS), (0.5, 0.4, HATCHLINGS)]
    a, b = (brought(*one) for one in two)
    exact = sum(a[i] * b[k] for i in range(len(a)) for k in range(len(b)) if i + k >= 3)
    assert at_least(3, two) == pytest.approx(exact, abs=1e-12)
    assert at_least(1, []) == 0.0
