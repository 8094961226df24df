"""A particle filter of the same season model: draw, weigh, resample, day by day of sightings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence, log_likelihood
from eggtooth.engine.cycle.grid import FINE, Fate, grid_of
from eggtooth.engine.cycle.milestones import DAYS, waits_of
from eggtooth.engine.cycle.prior import PRIOR
from eggtooth.engine.cycle.smoothing import ovulation_days, weights_of

Estimate = tuple[float, float]


@dataclass(frozen=True)
class Found:
    """Means and their standard errors over independent runs."""

    ovulation: Estimate
    laid: Estimate
    p_lays: Estimate


def particle_dates(evidence: Evidence, rng: np.random.Generator, particles: int, runs: int) -> Found:
    """Run the filter several times; only for seasons without a milestone noted."""
    each = np.array([_run(evidence, rng, particles) for _ in range(runs)])
    error = each.std(axis=0, ddof=1) / np.sqrt(runs)
    return Found(*((float(m), float(e)) for m, e in zip(each.mean(axis=0), error, strict=True)))


def _run(evidence: Evidence, rng: np.random.Generator, n: int) -> tuple[float, float, float]:
    grid = grid_of(FINE)
    weights = weights_of([evidence], grid, [PRIOR])
    by_class = weights.fates[0, grid.fate] * weights.classes[0]
    c = rng.choice(len(by_class), n, p=by_class / by_class.sum())
    s = rng.choice(len(grid.starts), n, p=weights.starts[0])
    for seen in evidence.follicles:
        bins = grid.appetite_on(seen.day) if seen.what[0] == "meal" else grid.bins_on(seen.day)
        weight = np.exp(log_likelihood(seen.what)[bins[c, s]])
        kept = _resampled(weight, rng)
        c, s = c[kept], s[kept]
    lays = grid.fate[c] == Fate.LAYS
    ovulation, laid, weight = _dates(evidence, rng, c[lays], s[lays])
    whole = weight.sum()
    return (
        float(ovulation @ weight / whole),
        float(laid @ weight / whole),
        float(whole / (whole + (~lays).sum())),
    )


def _resampled(weight: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Systematic resampling."""
    at = (rng.random() + np.arange(len(weight))) / len(weight)
    return np.searchsorted(np.cumsum(weight) / weight.sum(), at)


def _dates(
    evidence: Evidence, rng: np.random.Generator, c: np.ndarray, s: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Draw the three dates of laying particles; weigh by what was not noted."""
    grid, waits = grid_of(FINE), waits_of(PRIOR)
    ovulates = ovulation_days(FINE, PRIOR.ovulation_sd)
    steps = len(ovulates) // len(grid.shape.fast_z)
    rows = np.cumsum(ovulates[grid.levels[c, 2] * steps + grid.reach_ovulation[c] + s], axis=1)
    ovulation = (rows < rng.random(len(c))[:, None] * rows[:, -1:]).sum(axis=1)
    shed = ovulation + np.searchsorted(np.cumsum(waits.shed), rng.random(len(c)) * 0.999999)
    laid = shed + np.searchsorted(np.cumsum(waits.lay_unseen), rng.random(len(c)) * 0.999999)
    weight = (ovulation >= evidence.not_before) * 1.0
    for day, name, watched in (
        (ovulation, "ovulation", evidence.watched),
        (shed, "shed", evidence.watched),
        (laid, "laid", evidence.watched - 1),
    ):
        weight *= np.where(day < watched, 1 - getattr(PRIOR, f"{name}_noted"), 1.0)
    assert laid.max() < DAYS
    return ovulation.astype(float), laid.astype(float), weight
