"""How well a house scans: as the facts say, or roughly, as its own scans of this season agree with growth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from eggtooth.engine.cycle.evidence import ROUGH, Evidence, Seen
from eggtooth.engine.cycle.grid import ROUND, Grid, Shape, grid_of
from eggtooth.engine.cycle.prior import PRIOR
from eggtooth.engine.cycle.smoothing import forward, log_lattice, weights_of

LEAST_LOG_ODDS = 2.0
"""How much likelier rough scans must make all that a house saw before they are believed (our choice)."""

ASKED = 100
"""Females whose scans are weighed."""


def as_scanned(found: Sequence[Evidence], shape: Shape = ROUND) -> list[Evidence]:
    """The same evidence, its scans called rough where a house (a breeding year and day) scans roughly.

    Cost: about 0.5 ms a female asked; a female alone is never enough to tell.
    """
    grid, roughly = grid_of(shape), [rough(e) for e in found]
    days = {(e.start, e.today) for e in found}
    scans_roughly = {d for d in days if _is_rough([e for e in found if (e.start, e.today) == d], grid)}
    pairs = zip(found, roughly, strict=True)
    return [r if (e.start, e.today) in scans_roughly else e for e, r in pairs]


def rough(e: Evidence) -> Evidence:
    """The same with its scans called rough."""
    seen = (Seen(s.day, (s.what[0] + ROUGH, s.what[1])) if _scan(s) else s for s in e.follicles)
    return replace(e, follicles=tuple(seen))


def _scan(s: Seen) -> bool:
    return s.what[0].startswith("scan")


def _is_rough(house: Sequence[Evidence], grid: Grid) -> bool:
    scanned = sorted((e for e in house if sum(map(_scan, e.follicles)) > 1), key=lambda e: repr(e.follicles))
    few = [scanned[k * len(scanned) // ASKED] for k in range(ASKED)] if len(scanned) > ASKED else scanned
    if len(few) < 2:
        return False
    few = [replace(e, follicles=tuple(filter(_scan, e.follicles))) for e in few]
    return _told(list(map(rough, few)), grid) - _told(few, grid) > LEAST_LOG_ODDS


def _told(few: Sequence[Evidence], grid: Grid) -> float:
    """Log likelihood of the scans of a few females, by the facts' rates."""
    ahead = forward(log_lattice(few, grid), grid, weights_of(few, grid, [PRIOR]))
    each = np.log(np.maximum(ahead.cells.sum(axis=(1, 2)), 1e-30)) + ahead.log_scale
    return float(each.sum())
