"""The best that can be had by an observer who does not know the house: the worlds' equations, but not which.

It holds many houses possible, spread about the facts as houses may differ (centres of start, slow and fast
growth and turn, and how alike females are), and weighs each by all that was noted of all its females by the
day. What this observer cannot tell, no forecast can without having learned the house before. Its particles
are the best observer's, drawn more widely and weighed anew for every possible house.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from scipy.special import logsumexp

from eggtooth.engine.entries import Entry
from eggtooth.engine.simulate.season import draw_females, draw_luck, seasons_from, trait_of
from eggtooth.engine.simulate.sightings import Watching
from eggtooth.engine.simulate.world import WIDE, Varying, World
from validation._observer import (
    PER_YEAR,
    START,
    Belief,
    Particles,
    believe,
    clouded,
    milestone_noted,
    quantiles_of,
)
from validation._observer import log_weights as log_chances

TRAITS = ("start", "slow", "turn_mm", "fast")
DRAWN_WIDER = 1.35
CENTRES_SD = 0.5
"""How far a house's centres lie from the facts', in spreads between females."""

ALIKE_SD, ALIKE_OWN_SD = 0.4, 0.2
"""Spread of the logarithm of a house's spreads: common to all traits, and of each."""

HOUSES = 1000


@dataclass(frozen=True)
class Strangers:
    """Particles, and the weight of each in every possible house, (N, HOUSES), columns summing to one."""

    cloud: Particles
    weights: np.ndarray


@lru_cache(maxsize=1)
def strangers(world: World, n: int, scan_days: tuple[int, ...], seed: int = 998) -> Strangers:
    """Draw particles about the facts with the errors of sightings of `world`, and possible houses."""
    rng = np.random.default_rng(seed)
    wider = {t: _wider(getattr(WIDE, t)) for t in TRAITS}
    drawn = replace(world, start_common_sd=0.0, **(centres_of_facts() | wider))
    seasons, values = [], []
    for _ in range(-(-n // PER_YEAR)):
        females, luck = draw_females(rng, PER_YEAR, drawn), draw_luck(rng, PER_YEAR, drawn)
        seasons.append(seasons_from(drawn, females, luck, START, exposed=True))
        values.append(np.stack([trait_of(t, drawn, females, luck) for t in TRAITS]))
    cloud = clouded(world, seasons, scan_days)
    raw = np.concatenate(values, axis=1)[:, cloud.order]
    raw[[1, 3]] = np.log(raw[[1, 3]])
    return Strangers(cloud, _in_houses(rng, raw))


def centres_of_facts() -> dict[str, Varying]:
    """What a shifted or narrower world changes, as it is in the world of the facts."""
    return {n: getattr(WIDE, n) for n in ("ovulation_mm", "width_mm", "shed_days", "lay_days")}


def _wider(trait: Varying) -> Varying:
    return Varying(trait.centre, DRAWN_WIDER * trait.between, DRAWN_WIDER * trait.within)


def _in_houses(rng: np.random.Generator, raw: np.ndarray) -> np.ndarray:
    """Density of the particles' traits in each possible house over that they were drawn from."""
    centre = np.array([getattr(WIDE, t).centre for t in TRAITS])
    centre[[1, 3]] = np.log(centre[[1, 3]])
    spread = np.array([np.hypot(getattr(WIDE, t).between, getattr(WIDE, t).within) for t in TRAITS])
    z = (raw - centre[:, None]) / spread[:, None]
    k = len(TRAITS)
    shift = CENTRES_SD * rng.standard_normal((HOUSES, k))
    shift[:, 0] = np.hypot(1, 8.0 / CENTRES_SD / spread[0]) * shift[:, 0]
    factor = np.exp(
        ALIKE_SD * rng.standard_normal((HOUSES, 1)) + ALIKE_OWN_SD * rng.standard_normal((HOUSES, k))
    )
    drawn = (z**2).sum(axis=0) / DRAWN_WIDER**2 / 2
    found = np.empty((raw.shape[1], HOUSES), dtype=np.float32)
    for h in range(HOUSES):
        apart = (z - shift[h][:, None]) / factor[h][:, None]
        log = drawn - (apart**2).sum(axis=0) / 2
        weight = np.exp(log - log.max())
        found[:, h] = weight / weight.sum()
    return found


def believe_together(
    crowd: Strangers, females: Sequence[Sequence[Entry]], until: int, watching: Watching
) -> list[Belief]:
    """What this observer believes of each female of one house and year on day `until`."""
    cloud = crowd.cloud
    open_ = [i for i, entries in enumerate(females) if not milestone_noted(entries)]
    chance, scale = np.zeros((len(open_), len(cloud.laid)), dtype=np.float32), np.zeros(len(open_))
    for row, i in enumerate(open_):
        log = log_chances(cloud, females[i], until, watching)
        scale[row] = log.max()
        chance[row] = np.exp(log - scale[row])
    by_house = chance @ crowd.weights + 1e-30
    log_house = np.log(by_house).sum(axis=0)
    house = np.exp(log_house - logsumexp(log_house))
    told = {}
    prior = crowd.weights @ (house / by_house).astype(np.float32).T
    for row, i in enumerate(open_):
        weight = chance[row] * prior[:, row]
        lays = weight * cloud.lays
        told[i] = Belief(
            quantiles_of(np.floor(cloud.laid), lays),
            float(lays.sum() / weight.sum()),
            float(weight.sum() ** 2 / (weight**2).sum()),
        )
    return [told[i] if i in told else believe(cloud, e, until, watching) for i, e in enumerate(females)]
