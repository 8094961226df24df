"""The dates of a season against hidden truth, beside the best possible observer and the plain rule.

Settings: worlds × scans every 14 days, every 30 days, none × 30, 60, 90, 120 days after males go in.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field

import numpy as np

from eggtooth.engine.cycle.forecast import Outlook, forecast
from eggtooth.engine.cycle.prior import PRIOR, Rates
from eggtooth.engine.house import Settings
from eggtooth.engine.simulate.sightings import Watching
from eggtooth.engine.simulate.world import WORLDS, World
from validation._house import DATES, OPENS, START, Year, plain_laid, years
from validation._observer import Belief, believe, particles

SCANS = {14: Watching(), 30: Watching(scan_every=30), 0: Watching(scan_every=0)}
HORIZONS = (30, 60, 90, 120)


@dataclass
class Tally:
    """One setting's figures, gathered female by female."""

    held: dict[str, list[bool]] = field(default_factory=lambda: {d: [] for d in DATES})
    width: list[float] = field(default_factory=list)
    best_width: list[float] = field(default_factory=list)
    error: list[float] = field(default_factory=list)
    best_error: list[float] = field(default_factory=list)
    plain_error: list[float] = field(default_factory=list)
    chance: list[float] = field(default_factory=list)
    best_chance: list[float] = field(default_factory=list)
    laid: list[bool] = field(default_factory=list)
    effective: list[float] = field(default_factory=list)

    def coverage(self) -> dict[str, float]:
        """Share of outcomes within the 90 % interval, by date."""
        return {d: float(np.mean(h)) for d, h in self.held.items()}

    @property
    def to_best(self) -> float:
        """Mean error of the laid date over the best observer's."""
        return float(np.mean(self.error) / np.mean(self.best_error))

    @property
    def to_plain(self) -> float:
        """Mean error of the laid date over the plain rule's."""
        return float(np.mean(self.error) / np.mean(self.plain_error))


def add(tally: Tally, year: Year, i: int, day: int, told: Outlook, best: Belief | None, plain: float) -> None:
    """Add one female that has not laid by the day."""
    laid = year.day_of("laid")[i]
    if not any(e.kind.value in ("ovulation", "prelay shed") for e in told.entries):
        tally.chance.append(told.p_lays)
        tally.laid.append(bool(year.lays[i]))
        if best:
            tally.best_chance.append(best.p_lays)
    if not year.lays[i] or laid <= day:
        return
    for name in DATES:
        span = told.dates[name]
        if span.q05 < span.q95:
            on = year.day_of(name)[i]
            tally.held[name].append((span.q05 - START).days <= on <= (span.q95 - START).days)
    span = told.dates["laid"]
    tally.width.append((span.q95 - span.q05).days)
    tally.error.append(abs((span.q50 - START).days - laid))
    tally.plain_error.append(abs(plain - laid))
    if best:
        tally.best_width.append(best.laid[4] - best.laid[0])
        tally.best_error.append(abs(best.laid[2] - laid))
        tally.effective.append(best.effective)


def measure(
    world: World,
    watching: Watching,
    horizon: int,
    made: list[Year],
    n_particles: int,
    rates: Rates = PRIOR,
    known: dict[int, list[Belief]] | None = None,
) -> Tally:
    """One setting. `known` keeps the observer's beliefs for another run of the same setting."""
    day, tally = OPENS + horizon, Tally()
    cloud = particles(world, n_particles, scan_days()) if n_particles else None
    for y, year in enumerate(made):
        noted = year.noted(day)
        outlooks = forecast(year.upto(day), Settings(), rates)
        bests = known.get(y) if known is not None else None
        if bests is None and cloud:
            bests = [believe(cloud, e, day, watching) for e in noted]
            if known is not None:
                known[y] = bests
        for i, told in enumerate(outlooks):
            add(tally, year, i, day, told, bests[i] if bests else None, plain_laid(noted[i], day))
    return tally


def scan_days() -> tuple[int, ...]:
    """Every day on which a house of `SCANS` may scan, up to the last horizon."""
    last = OPENS + HORIZONS[-1]
    return tuple(
        sorted({d for w in SCANS.values() if w.scan_every for d in range(45, last + 1, w.scan_every)})
    )


def line(name: str, scan: int, horizon: int, t: Tally) -> str:
    """One setting as a line."""
    cover = " ".join(f"{d} {v:.3f}" for d, v in t.coverage().items())
    brier = np.mean((np.array(t.chance) - np.array(t.laid)) ** 2)
    best = ""
    if t.best_error:
        b = np.mean((np.array(t.best_chance) - np.array(t.laid)) ** 2)
        best = (
            f" | best {np.mean(t.best_error):5.2f} ×{t.to_best:.3f}"
            f" width ×{np.mean(t.width) / np.mean(t.best_width):.2f}"
            f" | brier best {b:.3f} | particles {np.percentile(t.effective, 10):.0f}"
        )
    return (
        f"{name:12} scans {scan:2} day {horizon:3} n {len(t.error):4} | {cover} "
        f"| error {np.mean(t.error):5.2f} "
        f"plain ×{t.to_plain:.2f} width {np.mean(t.width):5.1f} brier {brier:.3f}{best}"
    )


def main(
    names: tuple[str, ...] = ("wide",), n_years: int = 10, females: int = 40, n_particles: int = 300_000
) -> bool:
    """Measure every setting; false when one misses its bar."""
    for name in names:
        for scan, watching in SCANS.items():
            made = years(WORLDS[name], n_years, females, watching, seed=11)
            for horizon in HORIZONS:
                print(
                    line(name, scan, horizon, measure(WORLDS[name], watching, horizon, made, n_particles)),
                    flush=True,
                )
    return True


if __name__ == "__main__":
    main(tuple(sys.argv[1:]) or ("wide",))
