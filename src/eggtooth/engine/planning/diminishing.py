"""What more of the same wish is worth: less and less, until as many are likely as were wanted.

The worth of a wish is its weight times the expected share of the number wanted, E[min(N, c)] / c. N, the
number that hatches as wished, is the sum over clutches that each come or do not. Each pair is given an
effective number: the mean of a Poisson count with the same E[min(., c)] as that pair has alone. Effective
numbers add up, and the worth of their sum m is the concave E[min(Poisson(m), c)] / c. So a single pair is
weighed exactly; with c = 1 any number of pairs is (1 - exp(-m) is then the exact chance of at least one);
with more wanted from several pairs it is near, and a
little too hopeful, since a clutch comes or stays away as a whole (0.03 on average and 0.06 of the share at
most, over random sets of five pairs).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

KNOTS = 8192
SURE = 1 - 1e-9
"""Nothing is counted surer than this: a count that is sure to be reached would have an infinite mean."""


def share(m: Floats | float, count: int) -> Floats:
    """E[min(Poisson(m), count)] / count for each m >= 0. Cost: one incomplete gamma function for each m."""
    import numpy as np
    from scipy.special import gammainc

    m = np.asarray(m, dtype=float)
    # sum of P(N >= k) for k = 1 .. c, closed: m P(N <= c - 2) + c P(N >= c)
    below = 1 - gammainc(count - 1, m) if count > 1 else np.zeros_like(m)
    return np.asarray((m * below + count * gammainc(count, m)) / count)


def slope(m: Floats | float, count: int) -> Floats:
    """Derivative of `share`: P(Poisson(m) < count) / count."""
    import numpy as np
    from scipy.special import gammaincc

    return np.asarray(gammaincc(count, np.asarray(m, dtype=float)) / count)


def effective(expected: Floats, count: int) -> Floats:
    """The Poisson mean m whose E[min(Poisson(m), count)] is `expected` (0 <= expected < count).

    Exact to 1e-12 for count 1; else by a table and two Newton steps, to about 1e-9.
    """
    import numpy as np

    part = np.minimum(np.asarray(expected, dtype=float) / count, SURE)
    if count == 1:
        return np.asarray(-np.log1p(-part))
    m = np.interp(part, *_table(count))
    for _ in range(2):
        m = np.maximum(0.0, m - (share(m, count) - part) / np.maximum(slope(m, count), 1e-12))
    return np.asarray(m)


def by_table(m: Floats | float, count: int) -> Floats:
    """`share` by straight lines between 8,192 knots: within 3e-6, rising and concave as `share` is."""
    import numpy as np

    shares, means = _table(count)
    return np.asarray(np.interp(m, means, shares))


@lru_cache(maxsize=64)
def _table(count: int) -> tuple[Floats, Floats]:
    """Shares and the means that give them, rising."""
    import numpy as np

    top = count + 8 * np.sqrt(count) + 25
    near = np.geomspace(1e-6 * count, 0.02 * top, KNOTS // 4)
    means = np.concatenate([[0.0], near, np.linspace(0.02 * top, top, 3 * KNOTS // 4)[1:]])
    return np.maximum.accumulate(share(means, count)), means


def capped(hatchlings: Sequence[float], p: Floats, count: int) -> Floats:
    """E[min(N, count)] of one clutch for each chance p of one egg; `hatchlings[m]` is the chance of m.

    Given m hatchlings N is binomial. Cost: the length of `hatchlings` squared operations for each p.
    """
    import numpy as np
    from scipy.special import comb

    p = np.asarray(p, dtype=float)
    found = np.zeros_like(p)
    for m, weight in enumerate(hatchlings):
        if m <= count:
            found += weight * m * p
            continue
        short = sum(
            (count - k) * comb(m, k, exact=True) * p**k * (1 - p) ** (m - k) for k in range(count)
        )  # what is missing to the count, on average
        found += weight * (count - short)
    return found
