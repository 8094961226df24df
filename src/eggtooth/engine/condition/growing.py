"""What animals weigh now and will weigh: the growth model over a colony, and the fan of the days ahead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from eggtooth.engine.colony import Animal
from eggtooth.engine.condition.growth import ROUGHNESS, WANDER, Belief, Floats, Smoothed, ahead, smooth
from eggtooth.engine.condition.intake import ration_per_day, upkeep_per_day, usual_food, worth
from eggtooth.engine.condition.tracks import Track, stacked, track_of
from eggtooth.engine.entries import Entry
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.spans import Z90

STEP_DAYS = 7
APPETITE_DAYS = 180
APPETITE_WORTH_DAYS = 60
APPETITE_CV = 0.10
"""How far food ahead may lie from the animal's food of late, lasting (our choice)."""
YOUNG_CV, YOUNG_FROM_G, GROWN_FROM_G = 0.17, 250.0, 450.0
"""The same for the young, whose habits and whose curve are still to be seen: for all below the first mass,
falling to the usual at the second (our choice).
"""

FAST_SD_DAYS = 20.0
FAST_DAYS_SQUARED = biology.FASTS_PER_YEAR.value / 365 * (biology.FAST_LENGTH.value**2 + FAST_SD_DAYS**2)


@dataclass(frozen=True, slots=True)
class Growing:
    """The growth of some animals as known on a day; rows of all arrays follow `animals`."""

    on: date
    animals: tuple[Animal, ...]
    tracks: tuple[Track, ...]
    smoothed: Smoothed
    appetite: Floats

    @property
    def now(self) -> Belief:
        """Belief on the day, [animals]."""
        return self.smoothed.now

    def trust(self, row: int) -> list[tuple[Entry, float]]:
        """One animal's weighings with the chance that each is a good one."""
        steps = self.tracks[row].steps
        trusted = self.smoothed.trust[row, -len(steps) :]
        return [(s.weighing, float(w)) for s, w in zip(steps, trusted, strict=True) if s.weighing]

    def past(self, row: int) -> list[tuple[date, float, float, float]]:
        """One animal's mass day by day of its steps: (date, 5, 50, 95 %), for drawing."""
        steps, belief = self.tracks[row].steps, self.smoothed.belief
        mean, sd = belief.log_mass[row, -len(steps) :], belief.sd[row, -len(steps) :]
        q = np.exp(mean[:, None] + np.outer(sd, (-Z90, 0.0, Z90)))
        return [(s.on, *map(float, row)) for s, row in zip(steps, q, strict=True)]  # type: ignore[misc]


@dataclass(frozen=True, slots=True)
class Fan:
    """Mass ahead: `log_mass` and `sd` are [animals, days] over `days` from `on`."""

    on: date
    days: tuple[int, ...]
    log_mass: Floats
    sd: Floats

    def quantile_g(self, z: float) -> Floats:
        """Grams at `z` standard deviations from the middle, [animals, days]."""
        return np.asarray(np.exp(self.log_mass + z * self.sd), float)


def growing(animals: Sequence[Animal], seen: Sequence[History], on: date) -> Growing:
    """Learn every animal's mass and growth efficiency. No weighing gives the prior by age and sex.

    Raises `ValueError` without animals. Cost: see `growth.smooth`; reading entries is one pass.
    """
    if not animals:
        raise ValueError("no animals to learn growth from")
    tracks = tuple(track_of(a, s) for a, s in zip(animals, seen, strict=True))
    smoothed = smooth(stacked(tracks))
    return Growing(on, tuple(animals), tracks, smoothed, np.array([_appetite(t, on) for t in tracks]))


def _appetite(track: Track, on: date) -> float:
    """Food of late against the usual ration, drawn towards 1 by two months' worth of it."""
    since = on - timedelta(days=APPETITE_DAYS)
    food = usual = 0.0
    level = track.start
    for before, step in zip(track.steps, track.steps[1:], strict=False):
        level = step.reading if np.isfinite(step.reading) else level
        if step.on > since:
            food += step.gain
            usual += usual_food(level) * (step.on - before.on).days
    prior = usual_food(level) * APPETITE_WORTH_DAYS
    return (food + prior) / (usual + prior)


def fan(grown: Growing, days_ahead: int, every: int = STEP_DAYS, appetite: Floats | None = None) -> Fan:
    """Mass from the day on, when the animals go on eating as of late (or as `appetite` says, [animals]).

    Mean by small steps through the ration's fall with mass, spread by its first derivative. Cost: one step of
    [animals] per `every` days. Raises `ValueError` unless `days_ahead` and `every` are positive.
    """
    if days_ahead < 1 or every < 1:
        raise ValueError(f"days ahead and steps must be positive, not {days_ahead} and {every}")
    eats = grown.appetite if appetite is None else appetite
    here = _less_sure(grown.now)
    marks = range(0, days_ahead + 1, every)
    beliefs = [here]
    for _ in marks[1:]:
        here = _on(here, eats, every)
        beliefs.append(here)
    mean = np.stack([b.log_mass for b in beliefs], axis=1)
    return Fan(grown.on, tuple(marks), mean, np.stack([b.sd for b in beliefs], axis=1))


def _less_sure(now: Belief) -> Belief:
    """The belief with the doubt about lasting changes of feeding put on the efficiency."""
    cov = now.cov.copy()
    ages = np.log([YOUNG_FROM_G, GROWN_FROM_G])
    cv = np.interp(now.log_mass, ages, [YOUNG_CV, APPETITE_CV])
    cov[:, 1, 1] += (cv * now.efficiency) ** 2
    return Belief(now.mean, cov)


def _food(log_mass: Floats, eats: Floats) -> Floats:
    return np.asarray(eats * ration_per_day(log_mass) * worth(log_mass), float)


def _on(now: Belief, eats: Floats, days: int) -> Belief:
    """One step on, food depending on the mass reached, and now and then a fast."""
    food = _food(now.log_mass, eats) * days
    slope = (_food(now.log_mass + 0.01, eats) * days - food) / 0.01
    efficiency = now.efficiency
    upkeep = upkeep_per_day(now.log_mass) * days
    grown = np.maximum(food * efficiency - upkeep, 0.0)
    step = np.broadcast_to(np.eye(3), (*now.mean.shape, 3)).copy()
    step[:, 0, 0], step[:, 0, 1], step[:, 1, 2] = 1 + efficiency * slope, food, -grown
    known, noise = np.zeros_like(now.mean), np.zeros_like(now.cov)
    known[:, 0] = -upkeep - efficiency * slope * now.log_mass
    noise[:, 0, 0] = ROUGHNESS**2 * days + FAST_DAYS_SQUARED * (food / days * efficiency) ** 2 * days
    noise[:, 1, 1] = WANDER**2 * days
    return ahead(now, step, known, noise)
