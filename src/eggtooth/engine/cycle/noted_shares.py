"""How often a house notes each milestone, from its finished seasons and from the running one.

A female of whom a milestone was noted laid or was about to, so how many of such females have another one
noted tells how often the house notes that one, whatever became of the females without any note: as animals
caught twice tell how many there are.
"""

from __future__ import annotations

from collections.abc import Sequence

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.milestones import LAY_DAYS, SHED_DAYS
from eggtooth.engine.cycle.prior import Rates

MILESTONES = ("ovulation", "shed", "laid")
LONGEST_DAYS = {
    (0, 1): SHED_DAYS[1],
    (1, 2): LAY_DAYS[1],
    (0, 2): SHED_DAYS[1] + LAY_DAYS[1],
}
"""The longest that the second of two milestones comes after the first."""

PRIOR_NOTES = 12.0
"""Females the prior shares weigh as much as (our choice)."""


def noted_shares(found: Sequence[Evidence], prior: Rates) -> dict[str, float]:
    """Chance that each milestone is noted, as `Rates` has them by name, the prior counting as females of its
    own, and as all that taught it."""
    weighs = PRIOR_NOTES + prior.seasons
    return {
        f"{name}_noted": _share(found, name, getattr(prior, f"{name}_noted"), weighs) for name in MILESTONES
    }


def _share(found: Sequence[Evidence], name: str, prior: float, weighs: float) -> float:
    told = [e for e in found if _another(e, name)]
    have = sum(getattr(e, name) is not None for e in told)
    return (weighs * prior + have) / (weighs + len(told))


def _another(e: Evidence, name: str) -> bool:
    """Whether another milestone was noted, and if only earlier ones she was watched until this one must have
    come."""
    at = MILESTONES.index(name)
    if any(getattr(e, later) is not None for later in MILESTONES[at + 1 :]):
        return True
    ends = [day + LONGEST_DAYS[k, at] for k, day in _days(e) if k < at]
    return bool(ends) and e.watched > ends[-1]


def _days(e: Evidence) -> list[tuple[int, int]]:
    noted = [(k, getattr(e, name)) for k, name in enumerate(MILESTONES)]
    return [(k, day) for k, day in noted if day is not None]
