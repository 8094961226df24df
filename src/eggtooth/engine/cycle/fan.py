"""The follicle fan: quantiles of a female's diameter by day, back over what was seen and ahead of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from eggtooth.engine.cycle.evidence import evidence_of
from eggtooth.engine.cycle.forecast import worked
from eggtooth.engine.cycle.grid import BINS, LAST_DAY, MM, Floats
from eggtooth.engine.cycle.prior import Rates, read
from eggtooth.engine.cycle.smoothing import joined, noted_any
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.spans import LEVELS


@dataclass(frozen=True, slots=True)
class Fan:
    """Diameters in mm by day at the 5, 25, 50, 75 and 95 % points, (days, 5), and the chance of still having
    follicles to scan (not yet ovulated), (days,)."""

    days: tuple[date, ...]
    mm: Floats
    p_before_ovulation: Floats


def fan(seen: History, settings: Settings, days: Sequence[date], rates: Rates | None = None) -> Fan:
    """Quantiles of her largest follicles' diameter on given days of this breeding year, if not yet ovulated.

    Days outside the breeding year raise `ValueError`. Cost: about 1 ms a day.
    """
    start = settings.season_start(seen.on)
    at = [(d - start).days for d in days]
    if not all(0 <= d <= LAST_DAY for d in at):
        raise ValueError(f"a fan is drawn from {start} to {start + timedelta(days=LAST_DAY)}")
    block = worked([evidence_of(seen, start)], read(settings.learned_rates) if rates is None else rates)
    late = np.arange(block.message.shape[1])
    whole, told, open_ = float(block.cells.sum()), [], []
    for day in at:
        message = np.where(late > day, block.message, 0.0)
        cells = joined(block.ahead, block.grid, message, noted_any(block.found))[0]
        open_.append(float(cells.sum()) / whole)
        weight = np.bincount(block.grid.bins_on(day).ravel(), cells.ravel(), BINS)
        told.append(_quantiles(np.asarray(weight, dtype=np.float64)))
    return Fan(tuple(days), np.array(told), np.array(open_))


def _quantiles(weight: Floats) -> Floats:
    upto = np.cumsum(weight)
    if upto[-1] <= 0:
        return np.full(len(LEVELS), np.nan)
    found: Floats = MM[np.searchsorted(upto, np.array(LEVELS) * upto[-1])]
    return found
