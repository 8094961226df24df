"""What really happened in an invented colony, kept apart from what was noted."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

import numpy as np
from numpy.typing import NDArray

from eggtooth.engine.simulate.genes import Genomes
from eggtooth.engine.simulate.season import Fate


@dataclass(slots=True)
class SeasonTruth:
    """One female's season. Dates after the simulation's end are there too; None: never comes."""

    tag: str
    year: int
    fate: Fate
    exposed: bool
    mm12: date | None
    mm25: date | None
    off_food: date | None
    reabsorbs: date | None
    ovulation: date | None
    prelay_shed: date | None
    laid: date | None


@dataclass(slots=True)
class ClutchTruth:
    """One clutch: `sires` holds the sire of each fertile egg; `pips` is known once it has pipped, `young`
    (the genome and the sex of each hatchling) once it has hatched."""

    clutch: str
    dam: str
    laid: date
    good: int
    slugs: int
    sires: tuple[str, ...]
    incubator: str
    pips: date | None = None
    hatched: int = 0
    young: list[tuple[Genomes, int]] = field(default_factory=list)


@dataclass(slots=True)
class MaleSeason:
    """One male's season. `reserve` runs from 1 to 0 as he wears out; below 0 he may die."""

    tag: str
    year: int
    first_in: date
    stops_eating: date
    nights: int = 0
    locks: int = 0
    rested: date | None = None
    reserve_when_rested: float | None = None
    reserve_lost_per_day: float = 0.0
    died: date | None = None

    def rested_early_by_days(self) -> float:
        """How many more days he could have gone on when he was rested; 0 when he was not rested."""
        if self.reserve_when_rested is None or not self.reserve_lost_per_day:
            return 0.0
        return self.reserve_when_rested / self.reserve_lost_per_day


@dataclass(slots=True)
class Truth:
    """The hidden truth of a whole simulation."""

    begins: date
    genomes: dict[str, Genomes] = field(default_factory=dict)
    sires: dict[str, str] = field(default_factory=dict)
    dams: dict[str, str] = field(default_factory=dict)
    seasons: list[SeasonTruth] = field(default_factory=list)
    clutches: list[ClutchTruth] = field(default_factory=list)
    males: list[MaleSeason] = field(default_factory=list)
    tags: tuple[str, ...] = ()
    masses_g: NDArray[np.float32] = field(default_factory=lambda: np.zeros((0, 0), dtype=np.float32))

    def mass_g(self, tag: str, on: date) -> float:
        """Scale reading at a day's end; 0 before hatching. Raises `KeyError` for a day outside."""
        row = (on - self.begins).days
        if tag not in self.tags or not 0 <= row < len(self.masses_g):
            raise KeyError(f"no true mass of {tag!r} on {on}")
        return float(self.masses_g[row, self.tags.index(tag)])
