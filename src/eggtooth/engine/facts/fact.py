"""Values that cannot exist without a unit and a source, and the few spreads they may carry."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from eggtooth.engine.facts.sources import Source


class Spread(Protocol):
    """A distribution over one quantity, in that quantity's own unit."""

    def quantile(self, p: float) -> float:
        """Value below which a share `p` (0 < p < 1) of the distribution lies."""


def _z(p: float) -> float:
    from statistics import NormalDist

    return NormalDist().inv_cdf(p)


@dataclass(frozen=True, slots=True)
class Normal:
    """N(mean, sd)."""

    mean: float
    sd: float

    def quantile(self, p: float) -> float:
        """See `Spread`."""
        return self.mean + self.sd * _z(p)


@dataclass(frozen=True, slots=True)
class LogNormal:
    """Log-normal by its median and its coefficient of variation."""

    median: float
    cv: float

    @property
    def sigma(self) -> float:
        """Standard deviation of the logarithm."""
        return math.sqrt(math.log1p(self.cv**2))

    def quantile(self, p: float) -> float:
        """See `Spread`."""
        return self.median * math.exp(self.sigma * _z(p))


@dataclass(frozen=True, slots=True)
class Beta:
    """Beta(a, b) over a share between 0 and 1."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        """a / (a + b)."""
        return self.a / (self.a + self.b)

    def quantile(self, p: float) -> float:
        """See `Spread`."""
        from scipy.special import betaincinv

        return float(betaincinv(self.a, self.b, p))


@dataclass(frozen=True, slots=True)
class Fact:
    """One figure: its value (the central one), unit, source and, where it varies, its spread.

    Raises `ValueError` when unit or source is missing: a number nobody can trace is not a fact.
    """

    name: str
    value: float
    unit: str
    source: Source
    spread: Normal | LogNormal | Beta | None = None
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse a figure without unit or source."""
        if not self.unit or not isinstance(self.source, Source):
            raise ValueError(f"fact {self.name!r} needs a unit and a source")

    @property
    def varies(self) -> Spread:
        """The spread. Raises `ValueError` for a figure that carries none."""
        if self.spread is None:
            raise ValueError(f"fact {self.name!r} has no spread")
        return self.spread

    def __str__(self) -> str:
        """The figure as a reader sees it: value, unit and the basis."""
        return f"{self.name}: {self.value:g} {self.unit} ({self.source.cite})"
