"""The chance of having pipped, day by day and slope by slope: the slow twin of `eggs.incubation`."""

from __future__ import annotations

import math
from statistics import NormalDist

from eggtooth.engine.eggs.house import REFERENCE_C, House
from eggtooth.engine.eggs.incubation import SLOPE_NODES, Warmth
from eggtooth.engine.facts import biology
from eggtooth.engine.facts.fact import Normal


def pip_chances(warm: Warmth, house: House) -> list[float]:
    """By the end of each day from laying, the day of laying included."""
    slope = biology.INCUBATION_SLOPE.varies
    assert isinstance(slope, Normal)
    total = [0.0] * (len(warm.celsius) + 1)
    for z, weight in SLOPE_NODES:
        b = slope.mean + z * slope.sd
        done = future = 0.0
        for n, celsius in enumerate(warm.celsius, 1):
            step = math.exp(b * (celsius - REFERENCE_C))
            done += step
            future += step if n > warm.known else 0.0
            total[n] += weight * _reached(done, b * future / done, house)
    return total


def _reached(done: float, per_degree: float, house: House) -> float:
    own, cv = house.sd, biology.INCUBATION_RESIDUAL_CV.value / 100
    sd = math.sqrt(own**2 + cv**2 + (per_degree * biology.THERMOSTAT_SD.value) ** 2)
    return NormalDist().cdf((math.log(done / biology.INCUBATION_AT_31_5.value) - house.shift) / sd)
