"""What is gathered of one setting of the season's validation, and how it is told."""

from __future__ import annotations

from dataclasses import dataclass, field, fields

import numpy as np

from eggtooth.engine.cycle.evidence import MILESTONES
from eggtooth.engine.cycle.forecast import Outlook
from validation._again import Interval, ratio_90
from validation._house import DATES, START, Year
from validation._observer import Belief


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
    stranger_error: list[float] = field(default_factory=list)
    chance_of: list[int] = field(default_factory=list)
    error_of: list[int] = field(default_factory=list)
    """House and year of each chance and of each error."""

    def join(self, other: Tally) -> None:
        """Add all of another setting's."""
        for f in fields(self):
            if f.name != "held":
                getattr(self, f.name).extend(getattr(other, f.name))
        for date in DATES:
            self.held[date] += other.held[date]

    def coverage(self) -> dict[str, float]:
        """Share of outcomes within the 90 % interval, by date."""
        return {d: float(np.mean(h)) for d, h in self.held.items()}

    @property
    def to_best(self) -> float:
        """Mean error of the laid date over the best observer's."""
        return float(np.mean(self.error) / np.mean(self.best_error))

    @property
    def possible_to_best(self) -> float:
        """The same of an observer that does not know the house; 1 where none was asked."""
        return float(np.mean(self.stranger_error) / np.mean(self.best_error)) if self.stranger_error else 1.0

    @property
    def brier(self) -> float:
        """Brier score of the chance that she lays."""
        return float(np.mean(self._squares(self.chance)))

    @property
    def best_brier(self) -> float:
        """The best observer's."""
        return float(np.mean(self._squares(self.best_chance)))

    def _squares(self, chance: list[float]) -> np.ndarray:
        return (np.array(chance) - np.array(self.laid)) ** 2

    def brier_90(self, chance: list[float]) -> Interval:
        """90 % interval of the Brier score of these chances, had other houses been drawn."""
        return ratio_90(self._squares(chance), np.ones(len(chance)), self.chance_of)

    @property
    def to_plain(self) -> float:
        """Mean error of the laid date over the plain rule's."""
        return float(np.mean(self.error) / np.mean(self.plain_error))

    @property
    def best_to_plain(self) -> float:
        """The best observer's."""
        return float(np.mean(self.best_error) / np.mean(self.plain_error))

    def gains_90(self) -> tuple[Interval, Interval, Interval]:
        """90 % intervals of our and the best observer's error over the plain rule's, and of ours over the
        best's, had other houses been drawn."""
        pairs = (
            (self.error, self.plain_error),
            (self.best_error, self.plain_error),
            (self.error, self.best_error),
        )
        ours, best, ours_to_best = (ratio_90(np.array(a), np.array(b), self.error_of) for a, b in pairs)
        return ours, best, ours_to_best


def add(
    tally: Tally,
    year: Year,
    house: int,
    i: int,
    day: int,
    told: Outlook,
    plain: float,
    best: Belief | None,
    stranger: Belief | None = None,
) -> None:
    """Add one female: her chance of laying unless a milestone was noted, her dates where they lie ahead."""
    laid = year.day_of("laid")[i]
    if not any(e.kind in MILESTONES for e in told.entries):
        tally.chance.append(told.p_lays)
        tally.laid.append(bool(year.lays[i]))
        tally.chance_of.append(house)
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
    tally.error_of.append(house)
    if best:
        tally.best_width.append(best.laid[4] - best.laid[0])
        tally.best_error.append(abs(best.laid[2] - laid))
        tally.effective.append(best.effective)
    if stranger:
        tally.stranger_error.append(abs(stranger.laid[2] - laid))


def line(name: str, scan: int, horizon: int, t: Tally) -> str:
    """One setting as a line."""
    cover = " ".join(f"{d} {v:.3f}" for d, v in t.coverage().items())
    best = ""
    if t.best_error:
        best = (
            f" | best {np.mean(t.best_error):5.2f} ×{t.to_best:.3f}"
            f" width ×{np.mean(t.width) / np.mean(t.best_width):.2f}"
            f" | brier best {t.best_brier:.3f} | particles {np.percentile(t.effective, 10):.0f}"
        )
    if t.stranger_error:
        best += f" | not knowing the house ×{t.possible_to_best:.3f}"
    error, width = np.mean(t.error), np.mean(t.width)
    return (
        f"{name:12} scans {scan:2} day {horizon:3} n {len(t.error):4} | {cover} | error {error:5.2f} "
        f"plain ×{t.to_plain:.2f} width {width:5.1f} brier {t.brier:.3f}{best}"
    )
