"""Who steps in when the first male cannot: the best such choice, exactly."""

from __future__ import annotations

from typing import TYPE_CHECKING

from eggtooth.engine.planning.stakes import Firsts, Stakes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


def spares(stakes: Stakes, firsts: Firsts) -> dict[int, int]:
    """A second male for the females of a plan, by column, so that what they save is the most in sum.

    What a spare saves is counted for one first male failing at a time; it must be more than a pair costs. A
    male stands spare for at most as many females as he may serve: firsts fail now and then, which frees as
    many places as it fills. Solved as an assignment of females to places
    (`scipy.optimize.linear_sum_assignment`), exact.
    """
    import numpy as np
    from scipy.optimize import linear_sum_assignment

    females = sorted(firsts)
    if not females:
        return {}
    saved = np.array([saves(stakes, firsts, j) for j in females])  # [female, male]
    places = np.repeat(np.arange(len(stakes.males)), np.minimum(stakes.room, len(females)))
    rows, columns = linear_sum_assignment(saved[:, places], maximize=True)
    picked = ((females[r], r, int(places[c])) for r, c in zip(rows, columns, strict=True))
    return {j: i for j, r, i in picked if saved[r, i] > stakes.cost}


def saves(stakes: Stakes, firsts: Firsts, female: int) -> Floats:
    """[male]: what each other male adds when her first gives nothing; 0 where the two may not meet."""
    import numpy as np

    without = {j: i for j, i in firsts.items() if j != female}
    means = stakes.means(without)
    added = stakes.worth_of(means + stakes.effect[:, :, female].T) - stakes.worth_of(means)
    added = np.where(stakes.open[:, female], np.maximum(added, 0.0), 0.0)
    added[firsts[female]] = 0.0
    return np.asarray(added)
