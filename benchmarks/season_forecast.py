"""The season forecast's time and memory, against a particle filter that follows each female day by day.

The filter knows the invented world's own growth law and its errors of scans: each particle carries traits and
a diameter, grows by the day, is weighed at each scan and resampled when few are left that matter. Its number
of particles is raised until its mean error of the laid date is within 2 % of the forecast's; both times are
taken in this run. Females that lay, 165 days into the year, scanned every 14 days and nothing else noted; the
filter is told that they lay, which makes it the quicker.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np
from validation._house import START, Year, years
from validation.season_dates import SCANS

from eggtooth.engine.cycle.forecast import forecast
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.simulate.follicle import rate_mm_day
from eggtooth.engine.simulate.world import WIDE, Varying

DAY, FEMALES, COMPARED = 165, 1000, 120
SIZES = (500, 1000, 2000, 4000, 8000)


def main() -> None:
    """Print what was measured."""
    year = years(WIDE, 1, FEMALES, SCANS[14], seed=21)[0]
    seen, settings = year.upto(DAY), Settings()
    forecast(seen[:2], settings)
    print(f"{FEMALES} females on day {DAY}: {least(lambda: forecast(seen, settings)):.2f} s")
    whole = year.upto(330)
    print(f"{FEMALES} females, whole season noted: {least(lambda: forecast(whole, settings)):.2f} s")
    one = min(least(lambda h=h: forecast([h], settings)) for h in seen[:20])
    print(f"one female: {one * 1e3:.1f} ms; most memory of the process {memory_mb():.0f} MB")
    compare(year, settings)


def compare(year: Year, settings: Settings) -> None:
    """Both read the same scans. Raise the filter's particles until it errs at most 2 % more."""
    laid, logs = year.day_of("laid"), year.noted(DAY)
    told = [i for i, log in enumerate(logs) if year.lays[i] and not passed(log) and laid[i] > DAY]
    chosen = told[:COMPARED]
    scans = [[e for e in logs[i] if e.kind is Kind.SCAN] for i in chosen]
    seen = [History(log, START + timedelta(days=DAY)) for log in scans]
    ours_s = least(lambda: forecast(seen, settings)) / len(chosen)
    middle = [(o.dates["laid"].q50 - START).days for o in forecast(seen, settings)]
    ours = float(np.mean(np.abs(np.array(middle) - laid[chosen])))
    print(f"scans alone: mean error {ours:.2f} d over {len(chosen)} females, {ours_s * 1e3:.1f} ms a female")
    rng = np.random.default_rng(4)
    for n in SIZES:
        start = time.perf_counter()
        error = float(np.mean([abs(filtered(scans[k], n, rng) - laid[i]) for k, i in enumerate(chosen)]))
        each = (time.perf_counter() - start) / len(chosen)
        print(f"filter of {n} particles: {error:.2f} d, {each * 1e3:.0f} ms, {each / ours_s:.0f} times ours")
        if error <= 1.02 * ours:
            return


def passed(entries: Sequence[Entry]) -> bool:
    """Whether a milestone was noted."""
    return any(e.kind in (Kind.OVULATION, Kind.PRELAY_SHED, Kind.LAID) for e in entries)


def filtered(entries: Sequence[Entry], n: int, rng: np.random.Generator) -> float:
    """Median season day of eggs by the filter."""
    scans = {day_of(e.on): float(e.value or 0) for e in entries if e.kind is Kind.SCAN}
    traits = [drawn(rng, getattr(WIDE, t), n, t in ("slow", "fast", "width_mm")) for t in TRAITS]
    starts = drawn(rng, WIDE.start, n, False) + rng.normal(0, WIDE.start_common_sd, n)
    state = np.array([*traits, np.full(n, np.nan), np.full(n, np.nan), leaves(traits, starts)])
    for day in range(-60, 330):
        grow(state, day)
        if day in scans and day <= DAY:
            state = weighed(state, scans[day], rng)
        if day > DAY and not np.isnan(state[7]).any():
            break
    wait = np.clip(drawn(rng, WIDE.shed_days, n, False), 10, 30) + drawn(rng, WIDE.lay_days, n, True)
    return float(np.nanmedian(state[7] + wait))


TRAITS = ("slow", "fast", "turn_mm", "width_mm", "rest_mm", "ovulation_mm")


def drawn(rng: np.random.Generator, trait: Varying, n: int, log: bool) -> np.ndarray:
    """A trait of `n` particles."""
    spread = np.hypot(trait.between, trait.within) * rng.standard_normal(n)
    return trait.centre * np.exp(spread) if log else trait.centre + spread


def leaves(traits: list[np.ndarray], at_12: np.ndarray) -> np.ndarray:
    """About the day growth begins: 12 mm less the creep before it, at the particle's slow rate."""
    return at_12 - (12 - traits[4] - 0.05) / traits[0] - 8.0


def grow(state: np.ndarray, day: int) -> None:
    """One day of growth in place; rows: traits, diameter (6), ovulation day (7), day growth begins (8)."""
    mm = np.where(day >= state[8], np.where(np.isnan(state[6]), state[4] + 0.05, state[6]), np.nan)
    mm = mm + rate_mm_day(mm, *state[:5])
    state[7] = np.where(np.isnan(state[7]) & (mm >= state[5]), day, state[7])
    state[6] = np.minimum(mm, 60)


def weighed(state: np.ndarray, read: float, rng: np.random.Generator) -> np.ndarray:
    """Weigh by one scan and resample, with a little jitter of the traits so that copies part."""
    mm = np.where(np.isnan(state[6]), state[4], state[6])
    z, far = (read - mm) / WIDE.scan_error_mm, (read - mm) / WIDE.bad_scan_mm
    if read == 0:
        weight = np.where(mm < 4.5, 1.0, np.exp(-(((mm - 4.5) / 1.5) ** 2) / 2)) + 0.005
    else:
        weight = (
            0.97 * np.exp(-(z**2) / 2) / WIDE.scan_error_mm + 0.03 * np.exp(-(far**2) / 2) / WIDE.bad_scan_mm
        )
    weight = np.where(np.isnan(state[7]), weight, 1e-12)
    at = (rng.random() + np.arange(len(weight))) / len(weight)
    state = state[:, np.minimum(np.searchsorted(np.cumsum(weight) / weight.sum(), at), len(weight) - 1)]
    state[:2] *= np.exp(0.02 * rng.standard_normal(state[:2].shape))
    state[2] += 0.1 * rng.standard_normal(state.shape[1])
    return state


def day_of(on: date) -> int:
    """Season day."""
    return (on - START).days


def least(work: object, runs: int = 3) -> float:
    """Least seconds of some runs."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()  # type: ignore[operator]
        times.append(time.perf_counter() - start)
    return min(times)


def memory_mb() -> float:
    """Most memory this process held."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    main()
