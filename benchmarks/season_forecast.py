"""The season forecast's time and memory, against a particle filter that follows each female day by day.

The filter knows the forecast's own model: rates of each female drawn from the facts' spreads, the same law of
growth, the same errors of every entry (see `_filter`). Its number of particles is raised until its mean error
of the laid date is within 2 % of the forecast's; both times are taken in this run. Females that lay, 165 days
into the year, scanned every 14 days, with meals, signs and all else noted; the filter is told that they lay,
which makes it the quicker, and learns nothing of the house, as one female's particles cannot.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Sequence
from datetime import date

import numpy as np
from validation._house import START, Year, years
from validation.season_dates import SCANS

from benchmarks._filter import median_laid
from eggtooth.engine.cycle.evidence import evidence_of
from eggtooth.engine.cycle.forecast import Outlook, forecast
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.simulate.world import WIDE

DAY, FEMALES, COMPARED = 165, 1000, 120
SIZES = (125, 250, 500, 1000, 2000, 4000, 8000, 16000)


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
    """Both read all that was noted. The filter's particles are raised until its mean error of the laid date,
    over three runs, is at most 2 % more than that of the forecast of each female by herself."""
    laid, noted, seen = year.day_of("laid"), year.noted(DAY), year.upto(DAY)
    who = [i for i, log in enumerate(noted) if year.lays[i] and not passed(log) and laid[i] > DAY][:COMPARED]
    few, whole_s = [seen[i] for i in who], least(lambda: forecast(seen, settings)) / len(seen)
    apart_s = least(lambda: forecast(few, settings, as_one_house=False)) / len(who)
    whole = forecast(seen, settings)
    house = error_of([whole[i] for i in who], laid[who])
    apart = error_of(forecast(few, settings, as_one_house=False), laid[who])
    print(f"{len(who)} females: mean error {apart:.2f} d each by herself, {apart_s * 1e3:.2f} ms a female;")
    print(f"  in their house of {len(seen)} {house:.2f} d, {whole_s * 1e3:.2f} ms a female")
    found, rng = [evidence_of(s, START) for s in few], np.random.default_rng(4)

    def wrong(days: np.ndarray) -> float:
        return float(np.mean(np.abs(days - laid[who])))

    for n in SIZES:
        runs: list[float] = []
        each = least(lambda n=n, to=runs: to.append(wrong(median_laid(found, n, rng)))) / len(who)
        error = float(np.mean(runs))
        print(f"filter of {n} particles: {error:.2f} d, {each * 1e3:.1f} ms a female,")
        print(f"  {each / apart_s:.1f} times each by herself, {each / whole_s:.1f} times the house")
        if error <= 1.02 * apart:
            return
    print("no size came within 2 % of the forecast's error")


def error_of(told: Sequence[Outlook], laid: np.ndarray) -> float:
    """Mean error of the laid date in days."""
    return float(np.mean(np.abs(np.array([day_of(o.dates["laid"].q50) for o in told]) - laid)))


def passed(entries: Sequence[Entry]) -> bool:
    """Whether a milestone was noted."""
    return any(e.kind in (Kind.OVULATION, Kind.PRELAY_SHED, Kind.LAID) for e in entries)


def day_of(on: date) -> int:
    """Season day."""
    return (on - START).days


def least(work: object, runs: int = 3) -> float:
    """Least processor seconds of some runs: one thread, so what a quiet machine takes, however busy it is."""
    times = []
    for _ in range(runs):
        start = time.process_time()
        work()  # type: ignore[operator]
        times.append(time.process_time() - start)
    return min(times)


def memory_mb() -> float:
    """Most memory this process held."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    main()
