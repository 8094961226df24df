"""Which scan would tell most: the day in the coming weeks after which her dates would be narrowest."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.forecast import Block, still_growing
from eggtooth.engine.cycle.grid import BINS, LAST_DAY, MM, Floats, Grid
from eggtooth.engine.facts import biology
from eggtooth.engine.normal import cdf

DAYS_AHEAD = (0, 3, 7, 10, 14, 21, 28, 35, 42)
CLASS_MM = 1.5
WORTH_WAITING = 0.9
"""The first day is named that gives this share of the most any day gives (our choice)."""

LEAST_CHANCE, NEGLIGIBLE = 0.02, 1e-5


@dataclass(frozen=True, slots=True)
class NextScan:
    """The scan to make, and the spread in days of when she is ready to ovulate, now and after it."""

    on: date
    sd_now_days: float
    sd_after_days: float


def next_scans(block: Block) -> list[NextScan | None]:
    """The scan of most use for each female; `None` once she has most likely ovulated, or will not lay.

    For each day ahead every reading is weighed by its chance: the expected variance after the scan is the
    mean over readings of the variance given the reading, if she lays. Cost: about 5 ms a female.
    """
    cells = still_growing(block)[:, : block.grid.lays].astype(float)
    whole = block.cells.sum(axis=(1, 2))
    chances = cells.sum(axis=(1, 2)) / np.maximum(whole, 1e-30)
    pairs = zip(cells, block.found, chances, strict=True)
    return [_best(c, block.grid, e) if p > LEAST_CHANCE else None for c, e, p in pairs]


def _best(cells: Floats, grid: Grid, e: Evidence) -> NextScan:
    """Weigh the days ahead for one female's cells, (classes that lay, S)."""
    days = [d for d in DAYS_AHEAD if e.today + d <= LAST_DAY]
    joint = [_joint(cells, grid, e.today + d) for d in days]
    now = float(_variance(joint[0].sum(axis=0, keepdims=True), grid.shape.step)[0])
    after = [_after(j, grid.shape.step) for j in joint]
    least = now - WORTH_WAITING * (now - min(after))
    best = next(i for i, v in enumerate(after) if v <= least + 1e-9)
    return NextScan(e.date(e.today + days[best]), float(np.sqrt(now)), float(np.sqrt(after[best])))


def _joint(cells: Floats, grid: Grid, day: int) -> Floats:
    """Weight by diameter bin on a day and by step on which she is ready, (BINS, V)."""
    told = np.flatnonzero(cells > NEGLIGIBLE * cells.max())
    bins = grid.bins_on(day)[: grid.lays].ravel()[told].astype(np.intp)
    ready = grid.reach_ovulation[: grid.lays, None] + np.arange(grid.shape.starts)
    steps = int(ready.max()) + 1
    found = np.bincount(bins * steps + ready.ravel()[told], cells.ravel()[told], BINS * steps)
    return np.asarray(found.reshape(BINS, steps), dtype=np.float64)


def _after(joint: Floats, step: int) -> float:
    """Expected variance of the day she is ready once a scan has been read."""
    by_reading = _readings().T @ joint
    mass = by_reading.sum(axis=1)
    told = mass > 1e-12 * mass.sum()
    return float((_variance(by_reading[told], step) * mass[told]).sum() / mass[told].sum())


def _variance(weight: Floats, step: int) -> Floats:
    """Variance in days² over the last axis of weights by step."""
    at = np.arange(weight.shape[1]) * float(step)
    mass, first, second = (weight @ at**k for k in range(3))
    found: Floats = np.maximum(second / mass - (first / mass) ** 2, 0.0)
    return found


@lru_cache(maxsize=1)
def _readings() -> Floats:
    """Chance of each class of reading by diameter bin, (BINS, classes). Past ovulation nothing is read."""
    edges = np.concatenate([[-np.inf], np.arange(4.5, 52, CLASS_MM), [np.inf]])
    seen = np.diff(cdf((edges[None, :] - MM[:, None]) / biology.SCAN_ERROR.value), axis=1)
    gone = biology.OVULATION_AT.value + 3 < MM
    seen[gone] = 0
    seen[gone, 0] = 1
    return np.asarray(seen)
