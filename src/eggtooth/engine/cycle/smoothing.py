"""Forward and backward over the lattice: how likely each class and start is, given all that was seen.

Within a class the lattice falls apart into diagonals (see `grid`), so the forward pass is a sum of log
likelihoods along each diagonal, and the backward pass a look-up of the milestones' message on the day the
diagonal reaches the size of ovulation.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import DTypeLike, NDArray

from eggtooth.engine.cycle.evidence import Evidence, log_likelihood
from eggtooth.engine.cycle.grid import Fate, Floats, Grid, Shape, grid_of
from eggtooth.engine.cycle.milestones import DAYS, Messages
from eggtooth.engine.cycle.prior import FAST, OVULATION_MM, SLOW, TURN, Rates, Trait
from eggtooth.engine.facts import biology
from eggtooth.engine.normal import cdf

Cells = NDArray[np.floating]
BELOW_12_MM = 0.1
"""Of the females whose follicles start and go back before 20 mm, how many do so before the 12 mm by which a
start is told (our choice; no source tells the sizes)."""

BELOW_30_MM = 0.62
"""Of the females that reabsorb from 20 mm on, how many do so below 30 mm: by the facts 15 % of those that
reach 20 mm reabsorb, and 1 in 16 of those that reach 30 mm."""

STAYS_OFF_FOOD = 0.5
"""Of females that reabsorb large follicles, how many stay off food for weeks (our choice)."""


def _table(grid: Grid, what: tuple[str, float], dtype: DTypeLike) -> Cells:
    """Log likelihood of one sighting by cell, laid out as `grid.binned`; kept for the next female."""
    key = (what, np.dtype(dtype).char)
    if key not in grid.tables:
        cells = grid.appetite if what[0] == "meal" else grid.binned
        grid.tables[key] = log_likelihood(what).astype(dtype)[cells]
    return grid.tables[key]


def log_lattice(found: Sequence[Evidence], grid: Grid, dtype: DTypeLike = np.float32) -> Cells:
    """Log likelihood of all sightings of follicles by class and start, (F, C, S). Cost: 20 µs a sighting."""
    total = np.zeros((len(found), len(grid.fate), grid.shape.starts), dtype)
    for cells, evidence in zip(total, found, strict=True):
        for seen in evidence.follicles:
            parity, at = grid.cells(seen.day)
            cells += _table(grid, seen.what, dtype)[parity][:, at]
    return total


@dataclass(frozen=True, slots=True)
class Weights:
    """Prior weights: `classes` (F or 1, C) sum to one within a fate, `starts` (F or 1, S), `fates` (F, 4)."""

    classes: Floats
    starts: Floats
    fates: Floats


def _levels(levels: Sequence[float], trait: Trait, mean: Floats, sd: Floats) -> Floats:
    """Share of each spread nearest to each level, (G, levels), in standard deviations of the facts'."""
    at = trait.mean + np.asarray(levels) * trait.sd
    inner = cdf(((at[1:] + at[:-1]) / 2 - mean[:, None]) / sd[:, None])
    share: Floats = np.diff(np.pad(inner, ((0, 0), (1, 1)), constant_values=((0, 0), (0, 1))), axis=1)
    return share


@lru_cache(maxsize=9)
def exit_shares(shape: Shape) -> Floats:
    """Share of each class among those of its fate and its slow rate, (C,): where reabsorption sets in, and
    whether she stays off food."""
    grid = grid_of(shape)
    small, large = _small_shares(shape.small_mm), _large_shares(shape.large_mm)
    places = dict(zip((*shape.small_mm, *shape.large_mm), (*small, *large), strict=True))
    share: Floats = np.array([1.0 if np.isnan(mm) else places[mm] for mm in grid.exit_mm])
    share[grid.fasts] *= STAYS_OFF_FOOD
    share[np.isin(grid.exit_mm, shape.fasts_mm) & ~grid.fasts] *= 1 - STAYS_OFF_FOOD
    return share


def _small_shares(at_mm: Sequence[float]) -> Floats:
    """Share of early reabsorption nearest to each diameter: even from 12 to 20 mm, but for a few below."""
    at, low, high = np.array(at_mm), biology.PAIRING_FROM.value, biology.DOMINANT_FROM.value
    below = at < low
    inner = at[~below]
    edges = np.array([low, *((inner[1:] + inner[:-1]) / 2), high])
    share = np.full(len(at), BELOW_12_MM / max(int(below.sum()), 1))
    share[~below] = (1 - BELOW_12_MM * bool(below.any())) * np.diff(edges) / (high - low)
    return share


def _large_shares(at_mm: Sequence[float]) -> Floats:
    """Share of late reabsorption nearest to each diameter: even from 20 to 30 mm, then ever less up to
    ovulation."""
    edges = np.array([biology.DOMINANT_FROM.value, *np.add(at_mm[1:], at_mm[:-1]) / 2, OVULATION_MM.mean])
    below = BELOW_30_MM * np.clip((edges - 20) / 10, 0, 1)
    left = 1 - np.clip((edges - 30) / (OVULATION_MM.mean - 30), 0, 1)
    share: Floats = np.diff(below + (1 - BELOW_30_MM) * (1 - left**2))
    return share


def class_weights(grid: Grid, rates: Sequence[Rates]) -> Floats:
    """Prior weight of each class within its fate, (rates, C)."""
    shape, level = grid.shape, grid.levels
    slow, turn, fast = (
        (np.array([getattr(r, name).mean for r in rates]), np.array([getattr(r, name).sd for r in rates]))
        for name in ("slow", "turn", "fast")
    )
    weight: Floats = np.tile(exit_shares(shape), (len(rates), 1))
    lays, fails = grid.fate == Fate.LAYS, ~np.isnan(grid.exit_mm)
    weight[:, lays] *= _levels(shape.slow_z, SLOW, *slow)[:, level[lays, 0]]
    weight[:, lays] *= _levels(shape.turn_z, TURN, *turn)[:, level[lays, 1]]
    weight[:, lays] *= _levels(shape.fast_z, FAST, *fast)[:, level[lays, 2]]
    weight[:, fails] *= _levels(shape.fading_z, SLOW, *slow)[:, level[fails, 0]]
    return weight


def start_weights(grid: Grid, starts: Trait) -> Floats:
    """Prior weight of each start, (S,)."""
    weight: Floats = np.exp(-(((grid.starts - starts.mean) / starts.sd) ** 2) / 2)
    weight /= weight.sum()
    return weight


def weights_of(found: Sequence[Evidence], grid: Grid, rates: Sequence[Rates]) -> Weights:
    """Prior weights of each female; `rates` holds one set for all, or one a female."""
    classes = class_weights(grid, rates)
    starts = np.array([start_weights(grid, r.starts) for r in rates])
    by_female = rates if len(rates) == len(found) else [rates[0]] * len(found)
    return Weights(classes, starts, np.array([fates(e, r) for e, r in zip(found, by_female, strict=True)]))


def fates(evidence: Evidence, rates: Rates) -> Floats:
    """Chances of the four fates before anything of her follicles is seen, (4,), in the order of `Fate`."""
    small = rates.small
    if not evidence.met_male:
        small = evidence.meets * rates.small + (1 - evidence.meets) * rates.small_alone
    goes_on = (1 - rates.never) * (1 - small)
    return np.array(
        [goes_on * (1 - rates.large), (1 - rates.never) * small, goes_on * rates.large, rates.never]
    )


@dataclass(frozen=True, slots=True)
class Forward:
    """Forward message: `cells` (F, C, S) up to one factor a female, `log_scale` (F,) that factor's logarithm,
    `reaches` (F, fast, V) weight of laying females by the day they reach the usual size of ovulation;
    `ovulates` (fast × V, DAYS) leads from that day to the days of ovulation."""

    cells: Cells
    log_scale: Floats
    reaches: Floats
    ovulates: Floats


def forward(logs: Cells, grid: Grid, weights: Weights, ovulation_sd: float = OVULATION_MM.sd) -> Forward:
    """Weigh the lattice by the priors."""
    top = logs.max(axis=(1, 2), keepdims=True)
    cells = np.exp(logs - top)
    by_fate = weights.classes * weights.fates[:, grid.fate]
    cells *= by_fate[:, :, None].astype(cells.dtype)
    cells *= weights.starts[:, None, :].astype(cells.dtype)
    reaches = reached(cells, grid, grid.reach_ovulation)
    ovulates = ovulation_days(grid.shape, ovulation_sd)
    return Forward(cells, np.asarray(top[:, 0, 0], dtype=float), reaches, ovulates)


def unweighed(logs: Cells, grid: Grid, ovulation_sd: float) -> Forward:
    """The forward message but for the priors, as `joined` reads it."""
    top = logs.max(axis=(1, 2), keepdims=True)
    scale = np.asarray(top[:, 0, 0], dtype=float)
    return Forward(np.exp(logs - top), scale, np.zeros(0), ovulation_days(grid.shape, ovulation_sd))


def reached(cells: Cells, grid: Grid, reach: NDArray[np.intp]) -> Floats:
    """Weight of laying classes by fast level and by the day (in steps from the first start) of `reach`."""
    n, _, starts = cells.shape
    total = np.zeros((n, len(grid.shape.fast_z), starts + int(reach[: grid.lays].max())), cells.dtype)
    for c in range(grid.lays):
        total[:, grid.levels[c, 2], reach[c] : reach[c] + starts] += cells[:, c]
    return total


@lru_cache(maxsize=9)
def ovulation_days(shape: Shape, sd_mm: float) -> Floats:
    """Chance of each ovulation day by fast level and day of reaching 44 mm, (fast × V, DAYS).

    Females ovulate at somewhat different sizes; at her fast rate that is a few days to either side.
    """
    grid = grid_of(shape)
    steps = np.arange(shape.starts + int(grid.reach_ovulation[: grid.lays].max()))
    day = (shape.first_start + shape.step * steps)[:, None]
    edges = np.arange(DAYS + 1)[None, :]
    kernels = [np.diff(cdf((edges - day) / (sd_mm / mm_day)), axis=1) for mm_day in grid.fast_mm_day]
    found: Floats = np.concatenate(kernels)
    return found


def ovulation_message(ahead: Forward) -> Floats:
    """Forward message by day of ovulation, (F, DAYS)."""
    flat = ahead.reaches.reshape(len(ahead.reaches), -1)
    message: Floats = flat.astype(float) @ ahead.ovulates
    message += ODD_DAY * np.maximum(flat.sum(axis=1, keepdims=True), 1e-30)
    return message


ODD_DAY = 1e-9
"""Share left to an ovulation on any day at all, so that a milestone no curve leads to can still be noted."""


def joined(ahead: Forward, grid: Grid, message: Floats, milestone_noted: NDArray[np.bool_]) -> Cells:
    """Posterior weight of every cell, (F, C, S): forward times the milestones' message, `message` (F, DAYS).

    Where a milestone was noted, classes that do not lay get none.
    """
    n, _, starts = ahead.cells.shape
    back = (message @ ahead.ovulates.T).reshape(n, len(grid.shape.fast_z), -1)
    back = back.astype(ahead.cells.dtype)
    cells = ahead.cells.copy()
    for c in range(grid.lays):
        reach = grid.reach_ovulation[c]
        cells[:, c] *= back[:, grid.levels[c, 2], reach : reach + starts]
    cells[milestone_noted, grid.lays :] = 0
    return cells


def noted_any(found: Sequence[Evidence]) -> NDArray[np.bool_]:
    """Who had a milestone noted, (F,)."""
    return np.array([any(d is not None for d in (e.ovulation, e.shed, e.laid)) for e in found], dtype=bool)


def fate_chances(
    ahead: Forward, grid: Grid, ovulation: Floats, back: Messages, noted: NDArray[np.bool_]
) -> Floats:
    """Posterior chances of the four fates, (F, 4)."""
    others = np.stack([ahead.cells[:, grid.fate == f].sum(axis=(1, 2)) for f in list(Fate)[1:]], axis=1)
    weight = np.concatenate(
        [(ovulation * back.ovulation).sum(axis=1, keepdims=True), np.where(noted[:, None], 0.0, others)],
        axis=1,
    )
    chance: Floats = weight / weight.sum(axis=1, keepdims=True)
    return chance
