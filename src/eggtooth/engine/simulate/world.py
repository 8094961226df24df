"""How females differ, how seasons run and how badly they are seen, in one invented world."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from eggtooth.engine.facts import biology

if TYPE_CHECKING:
    import numpy as np


@dataclass(frozen=True, slots=True)
class Varying:
    """A trait of females: its centre, the spread between females, and within one female over the years.

    Spreads are standard deviations, in the trait's unit or, for traits that multiply, of its logarithm.
    """

    centre: float
    between: float
    within: float

    def halved(self) -> Varying:
        """The same centre with half of both spreads."""
        return Varying(self.centre, self.between / 2, self.within / 2)

    def at(self, centre: float) -> Varying:
        """The same spreads around another centre."""
        return Varying(centre, self.between, self.within)


@dataclass(frozen=True, slots=True)
class World:
    """One invented world. Days of a season count from 1 September.

    The centres of `slow` and `fast` are the rates far from the turn; they are set so that over a turn of
    `width_mm` the median female takes 65 days from 12 to 25 mm and two to three weeks from 25 to 44 mm
    (common practice). `start` is the day a follicle reaches 12 mm. Both total spreads of a trait together are
    those of the facts; how much of it lasts from year to year is our choice, as are the shares below.
    """

    slow: Varying = Varying(0.170, 0.28, 0.19)
    fast: Varying = Varying(1.36, 0.24, 0.17)
    turn_mm: Varying = Varying(biology.HINGE.value, 1.7, 1.05)
    width_mm: Varying = Varying(2.2, 0.20, 0.0)
    ovulation_mm: Varying = Varying(biology.OVULATION_AT.value, 2.5, 1.65)
    rest_mm: Varying = Varying(3.6, 0.5, 0.3)
    start: Varying = Varying(88.0, 26.0, 24.0)
    start_common_sd: float = 8.0
    shed_days: Varying = Varying(biology.OVULATION_TO_SHED.value, 2.5, 3.1)
    lay_days: Varying = Varying(biology.SHED_TO_LAID.value, 0.09, 0.12)
    shed_lay_correlation: float = -0.35
    starts_share: float = 0.93
    reabsorbs_small: float = 0.15
    reabsorbs_small_alone: float = 0.80
    reabsorbs_large: float = 0.10
    frailty_sd: float = 0.5
    mass_g: Varying = Varying(1720.0, 0.14, 0.05)
    clutch_share: Varying = Varying(0.33, 0.03, 0.04)
    egg_g: Varying = Varying(92.0, 9.0, 8.0)
    fertile_share: float = biology.FERTILE_PER_EGG.value
    clutch_fails: float = biology.WHOLE_CLUTCH_FAILS.value
    hatches_share: float = biology.HATCHES.value
    incubation_days: float = biology.INCUBATION_AT_31_5.value
    incubation_slope: float = biology.INCUBATION_SLOPE.value
    incubation_cv: float = 0.04
    incubator_sd_c: float = 0.4
    warmth_per_c: float = 0.04
    winter_drop_c: float = 1.0
    room_sd_c: float = 0.5
    scan_error_mm: float = biology.SCAN_ERROR.value
    bad_scan_share: float = 0.03
    bad_scan_mm: float = 6.0
    missed_share: float = 0.10

    def drawn(self, rng: np.random.Generator) -> World:
        """This world with its house-wide incubation figures drawn from the spreads of the facts."""
        days = rng.normal(self.incubation_days, 2.5)
        return replace(self, incubation_days=days, incubation_slope=max(0.01, rng.normal(0.055, 0.015)))


WIDE = World()
"""Females as varied as the priors of the facts."""

NARROW = replace(
    WIDE,
    **{
        n: getattr(WIDE, n).halved()
        for n in ("slow", "fast", "turn_mm", "ovulation_mm", "start", "shed_days", "lay_days")
    },
)
"""Half the spread, same centres."""

NARROW_FAST = replace(NARROW, slow=NARROW.slow.at(WIDE.slow.centre * 7.5 / 6))
"""Follicles that grow 7.5 mm a month instead of 6, with half the spread."""

LATE_SLOW = replace(WIDE, slow=WIDE.slow.at(WIDE.slow.centre * 5 / 6), start=WIDE.start.at(108.0))
"""A cool house: 5 mm a month, three weeks later."""

GRADUAL = replace(WIDE, width_mm=Varying(5.0, 0.20, 0.0), slow=WIDE.slow.at(0.115), fast=WIDE.fast.at(1.7))
"""Growth that turns so gently that no bend is seen."""

CARELESS = replace(WIDE, scan_error_mm=2.2, bad_scan_share=0.08, missed_share=1 / 3)
"""A third of the entries missing, and worse scans."""

EARLY = replace(
    WIDE,
    start=Varying(66.0, 20.0, 18.0),
    starts_share=0.96,
    reabsorbs_small=0.10,
    reabsorbs_small_alone=0.35,
    reabsorbs_large=0.07,
)
"""A house whose females lay from the turn of the year on; the demo's."""

WORLDS = {
    "wide": WIDE,
    "narrow": NARROW,
    "narrow fast": NARROW_FAST,
    "late slow": LATE_SLOW,
    "gradual": GRADUAL,
    "careless": CARELESS,
    "early": EARLY,
}
