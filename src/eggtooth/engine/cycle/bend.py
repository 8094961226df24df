"""How softly growth turns from slow to fast in a house: the likeliest of a few bends by what was noted."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.grid import ROUND, Shape, grid_of
from eggtooth.engine.cycle.marginal import Lattice, lattice_of
from eggtooth.engine.cycle.one_house import House
from eggtooth.engine.cycle.prior import BENDS_MM, PRIOR_SEASONS, Rates
from eggtooth.engine.cycle.smoothing import log_lattice

TELL_THE_BEND = 100
"""How many females are asked how softly growth turns in the house."""

BLOCK = 48


def beforehand(bend: float, rates: Rates) -> float:
    """Logarithm of how likely a bend is beforehand: each step from what is known halves it, and the more
    finished seasons taught the rates, the more."""
    steps = abs(BENDS_MM.index(bend) - BENDS_MM.index(rates.bend_mm))
    return -steps * math.log(2) * (PRIOR_SEASONS + rates.seasons) / PRIOR_SEASONS


def noted_on(found: Sequence[Evidence], rates: Sequence[Rates], shape: Shape) -> Lattice:
    """All that was noted of these females on a grid, a block at a time."""
    grid = grid_of(shape)
    parts = []
    for i in range(0, len(found), BLOCK):
        few = found[i : i + BLOCK]
        parts.append(lattice_of(few, log_lattice(few, grid), grid, rates[i : i + BLOCK]))
    return Lattice(
        grid, *(np.concatenate([getattr(p, n) for p in parts]) for n in ("cells", "log_scale", "classes"))
    )


def spaced(able: Sequence[int], most: int) -> list[int]:
    """At most so many of them, evenly spaced."""
    n = min(len(able), most)
    return [able[k * len(able) // n] for k in range(n)]


def order_of(e: Evidence) -> tuple[int, str]:
    """By the number of sightings; equal only where all that matters is equal."""
    noted = (e.follicles, e.ovulation, e.shed, e.laid, e.sheds, e.warm, e.swollen, e.not_before)
    return len(e.follicles), repr((noted, e.met_male, e.meets, e.watched))


def likeliest(found: Sequence[Evidence], rates: Rates, shape: Shape = ROUND) -> float:
    """The bend under which these finished seasons are likeliest, a hundred of them asked."""
    asked = [found[i] for i in spaced(range(len(found)), TELL_THE_BEND)]
    house = House([rates] * len(asked), one_year=False)

    def told(bend: float) -> float:
        lattice = noted_on(asked, [rates] * len(asked), shape.bent(bend))
        return float(house.evidence(*house.peak(lattice))[-1]) + beforehand(bend, rates)

    return max(BENDS_MM, key=told)
