"""Inbreeding by year of hatch: whether a colony grows closer to itself as the years go."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from statistics import fmean, stdev

from eggtooth.engine.colony import Animal


@dataclass(frozen=True, slots=True)
class HatchYear:
    """Inbreeding of the animals hatched in one year (None: no date noted).

    `spread`: standard deviation between the animals, None for fewer than two; `most`: the highest.
    """

    year: int | None
    animals: int
    mean: float
    spread: float | None
    most: float


def by_year(animals: Iterable[Animal], inbreeding: Mapping[str, float]) -> tuple[HatchYear, ...]:
    """One row for each year of hatch that has animals, oldest first, those without a date last."""
    groups: dict[int | None, list[float]] = {}
    for animal in animals:
        groups.setdefault(animal.hatched.year if animal.hatched else None, []).append(inbreeding[animal.tag])
    return tuple(_row(year, groups[year]) for year in sorted(groups, key=lambda y: (y is None, y or 0)))


def _row(year: int | None, f: list[float]) -> HatchYear:
    return HatchYear(year, len(f), fmean(f), stdev(f) if len(f) > 1 else None, max(f))
