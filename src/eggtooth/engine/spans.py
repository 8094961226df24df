"""A date that is honest about its spread."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from eggtooth.engine.facts.fact import Spread
from eggtooth.engine.wording import say, say_n


def ago(days: int) -> str:
    """A number of days in the past, in words."""
    if days in (0, 1):
        return say("yesterday") if days else say("today")
    return say_n("{n} day ago", "{n} days ago", n=days)


LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)
Z90 = 1.6449


@dataclass(frozen=True, slots=True)
class Span:
    """A date with its spread: the 5, 25, 50, 75 and 95 % dates. All are equal when it was seen."""

    q05: date
    q25: date
    q50: date
    q75: date
    q95: date

    @classmethod
    def seen(cls, on: date) -> Span:
        """A date that was observed."""
        return cls(on, on, on, on, on)

    @classmethod
    def of(cls, start: date, spread: Spread) -> Span:
        """`start` plus a number of days drawn from a spread."""
        return cls(*(start + timedelta(days=round(spread.quantile(p))) for p in LEVELS))

    @classmethod
    def before(cls, end: date, spread: Spread) -> Span:
        """`end` minus a number of days drawn from a spread."""
        return cls(*(end - timedelta(days=round(spread.quantile(1 - p))) for p in LEVELS))

    @classmethod
    def normal(cls, start: date, days: float, sd_days: float) -> Span:
        """`start` plus a normal number of days, rounded outwards to whole days."""

        def at(z: float) -> date:
            return start + timedelta(days=round(days + z * sd_days))

        return cls(at(-Z90), at(-0.6745), at(0.0), at(0.6745), at(Z90))

    def __str__(self) -> str:
        """The central date and the 90 % span."""
        if self.q05 == self.q95:
            return say("{mid:%-d %b}", mid=self.q50)
        return say(
            "about {mid:%-d %b} ({low:%-d %b} to {high:%-d %b})", mid=self.q50, low=self.q05, high=self.q95
        )
