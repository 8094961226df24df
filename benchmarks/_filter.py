"""A particle filter of the forecast's own season model, following every female day by day.

Each particle is one course of a season that ends in eggs: traits and a day of reaching 12 mm drawn from the
facts' spreads (what houses and what females differ by together, as for one female they cannot be told apart),
and a diameter that grows by the day. It is weighed by the forecast's own likelihood of everything noted, and
resampled when few particles are left that matter, the traits moved a little and drawn in as much (Liu & West
2001, in *Sequential Monte Carlo Methods in Practice*). All females run side by side in the same arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence, log_likelihood
from eggtooth.engine.cycle.grid import BIN_MM, BINS, LEAVING_MM, REST_MM, calibration, rate_mm_day
from eggtooth.engine.cycle.milestones import sightings_of, waits_of
from eggtooth.engine.cycle.prior import PRIOR, Trait

FIRST, LAST, FROM_MM = -40, 420, 12.0
KEPT = 0.98
"""Share of each trait's spread kept at resampling; the rest is drawn anew (Liu & West's a)."""


@dataclass
class Courses:
    """Particles by female, each (F, N): traits on the scale they are normal on, diameter, days, weight."""

    slow: np.ndarray
    turn: np.ndarray
    fast: np.ndarray
    start: np.ndarray
    size: np.ndarray
    mm: np.ndarray
    ovulates: np.ndarray
    log_weight: np.ndarray


def median_laid(found: Sequence[Evidence], n: int, rng: np.random.Generator) -> np.ndarray:
    """Median season day of eggs of each female, (F,), with `n` particles each. No milestone may be noted."""
    courses = _drawn((len(found), n), rng)
    sightings = sightings_of(found, PRIOR)
    by_day: dict[int, list[tuple[int, np.ndarray]]] = {}
    for i, e in enumerate(found):
        for seen in e.follicles:
            by_day.setdefault(seen.day, []).append((i, log_likelihood(seen.what)))
    watched = max(e.today for e in found)
    for day in range(FIRST, LAST):
        _grow(courses, day)
        for i, table in by_day.get(day, ()):
            bins = np.clip(np.rint(courses.mm[i] / BIN_MM), 0, BINS - 1).astype(int)
            courses.log_weight[i] += table[bins]
        if day in by_day:
            _resample(courses, rng)
        if day > watched and not np.isnan(courses.ovulates).any():
            break
    return _laid(courses, sightings, rng)


def _drawn(shape: tuple[int, int], rng: np.random.Generator) -> Courses:
    def of(trait: Trait) -> np.ndarray:
        return trait.mean + trait.sd * rng.standard_normal(shape)

    size = 44 + PRIOR.ovulation_sd * rng.standard_normal(shape)
    traits = (of(PRIOR.slow), of(PRIOR.turn), of(PRIOR.fast), of(PRIOR.starts))
    return Courses(*traits, size, np.full(shape, REST_MM), np.full(shape, np.nan), np.zeros(shape))


def _grow(c: Courses, day: int) -> None:
    """One day: by the curve's own ease from rest before 12 mm, by its rate from there on."""
    at_slow, at_fast = calibration()
    slow = np.exp(c.slow) * at_slow
    fast = np.maximum(np.exp(c.fast) * at_fast, slow)
    early = FROM_MM + (day - c.start) * slow
    eased = REST_MM + LEAVING_MM * np.logaddexp(0, (early - REST_MM) / LEAVING_MM)
    rate = rate_mm_day(c.mm, slow, fast, c.turn, PRIOR.bend_mm)
    grown = np.where(c.mm < FROM_MM, FROM_MM + (day - c.start) * slow, c.mm + rate)
    c.mm = np.minimum(np.where(day < c.start, np.minimum(eased, FROM_MM), grown), 60.0)
    c.ovulates = np.where(np.isnan(c.ovulates) & (c.mm >= c.size), day, c.ovulates)


def _resample(c: Courses, rng: np.random.Generator) -> None:
    """Females whose effective number has fallen below half are resampled systematically."""
    weight = np.exp(c.log_weight - c.log_weight.max(axis=1, keepdims=True))
    weight /= weight.sum(axis=1, keepdims=True)
    n = weight.shape[1]
    few = np.flatnonzero(1 / (weight**2).sum(axis=1) < n / 2)
    for i in few:
        at = np.searchsorted(np.cumsum(weight[i]), (rng.random() + np.arange(n)) / n)
        at = np.minimum(at, n - 1)
        for name in ("slow", "turn", "fast", "start", "size", "mm", "ovulates"):
            getattr(c, name)[i] = getattr(c, name)[i][at]
        for name in ("slow", "turn", "fast"):
            values = getattr(c, name)[i]
            drawn_in = KEPT * values + (1 - KEPT) * values.mean()
            values[:] = drawn_in + np.sqrt(1 - KEPT**2) * values.std() * rng.standard_normal(n)
        c.log_weight[i] = 0


def _laid(c: Courses, sightings: object, rng: np.random.Generator) -> np.ndarray:
    """Draw the two waits, weigh by what was noted or not of the milestones, and take the weighted medians."""
    waits, shape = waits_of(PRIOR), c.ovulates.shape
    ovulates = np.clip(np.nan_to_num(c.ovulates, nan=LAST), 0, LAST).astype(int)
    shed = ovulates + np.searchsorted(np.cumsum(waits.shed), rng.random(shape) * 0.999999)
    laid = shed + np.searchsorted(np.cumsum(waits.lay_unseen), rng.random(shape) * 0.999999)
    weight = np.exp(c.log_weight - c.log_weight.max(axis=1, keepdims=True))
    for days, name in ((ovulates, "ovulation"), (shed, "shed"), (laid, "laid")):
        weight *= np.take_along_axis(getattr(sightings, name), days, axis=1)
    order = np.argsort(laid, axis=1)
    upto = np.cumsum(np.take_along_axis(weight, order, axis=1), axis=1)
    middle = (upto < upto[:, -1:] / 2).sum(axis=1)
    return np.take_along_axis(laid, order, axis=1)[np.arange(len(laid)), np.minimum(middle, shape[1] - 1)]
