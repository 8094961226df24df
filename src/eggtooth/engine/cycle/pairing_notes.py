"""Whether a female of whom no night with a male is noted had one, as her house's other females tell.

Where the others have many nights noted each, she had none; where one or two each, hers may only not have been
written down. Nights noted of those that have any follow a Poisson distribution cut off at none, whose mean
tells how many females with a male have none noted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.prior import MEETS_A_MALE

FEW = 4.0
"""Females with a night noted that tell of the others half as much as many would (our choice)."""

ROUNDS = 200


def as_paired(found: Sequence[Evidence]) -> list[Evidence]:
    """The same evidence, with the chance that each female meets a male in time as her house (a breeding year
    and day) tells it."""
    houses: dict[tuple[object, int], list[Evidence]] = {}
    for e in found:
        houses.setdefault((e.start, e.today), []).append(e)
    missed = {day: _missed([e.nights for e in house]) for day, house in houses.items()}
    return [e if e.met_male else replace(e, meets=_meets(missed[e.start, e.today])) for e in found]


def _meets(missed: float) -> float:
    """Had a night that is not noted, or will have one."""
    return missed + (1 - missed) * MEETS_A_MALE


def _missed(nights: Sequence[int]) -> float:
    """Chance that a female without a night noted had one all the same."""
    noted = [n for n in nights if n > 0]
    without = len(nights) - len(noted)
    if not noted or not without:
        return 0.0
    unseen = math.exp(-_mean_uncut(sum(noted) / len(noted)))
    expected = len(noted) * unseen / (1 - unseen)
    return min(expected / without, 1.0) * len(noted) / (len(noted) + FEW)


def _mean_uncut(mean: float) -> float:
    """Mean of a Poisson distribution whose mean is `mean` when none is left out, by turns (near 1 within
    0.02)."""
    uncut = mean
    for _ in range(ROUNDS):
        uncut = -mean * math.expm1(-uncut)
    return uncut
