"""The routes none of which is beaten: fewer seasons, clutches or animals held back, or a better chance."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from eggtooth.engine.planning.generations.chances import RouteChance
from eggtooth.engine.planning.generations.structure import Founder, Route

SAME = 1e-12
"""Chances closer than this are the same."""


@dataclass(frozen=True)
class Way:
    """A route with its exact chance."""

    route: Route
    chance: RouteChance = field(compare=False)

    @property
    def p(self) -> float:
        """Chance that the wish hatches by the route's season."""
        return self.chance.p

    @cached_property
    def costs(self) -> tuple[int, int, int]:
        """Seasons, clutches, animals held back."""
        return self.route.seasons, self.route.clutches, self.route.held

    def beats(self, other: Way) -> bool:
        """Whether it is no worse in anything and better in something, or equal and first by tags."""
        if any(a > b for a, b in zip(self.costs, other.costs, strict=True)) or self.p < other.p - SAME:
            return False
        better = self.costs != other.costs or self.p > other.p + SAME
        return better or _name(self) < _name(other)


@dataclass
class Front:
    """The ways not beaten so far."""

    ways: list[Way] = field(default_factory=list)

    def add(self, way: Way) -> bool:
        """Take a way in unless it is beaten; True when it came in. Cost: the size of the front."""
        if way.p <= 0 or any(old == way or old.beats(way) for old in self.ways):
            return False
        self.ways = [old for old in self.ways if not way.beats(old)]
        self.ways.append(way)
        return True

    def ordered(self) -> list[Way]:
        """By seasons, then clutches, then animals held, then the better chance."""
        return sorted(self.ways, key=lambda w: (*w.costs, -w.p, _name(w)))


@dataclass
class Leaders:
    """The likeliest ways for each number of seasons and of animals held, beaten or not: change may do them
    more good than it does the front, which is full of simpler ways at first.
    """

    most: int = 4
    ways: dict[tuple[int, int], list[Way]] = field(default_factory=dict)

    def add(self, way: Way) -> None:
        """Take a way in if it is among the likeliest of its kind."""
        if way.p <= 0:
            return
        kind = way.route.seasons, way.route.held
        best = [old for old in self.ways.get(kind, []) if old.route != way.route]
        self.ways[kind] = sorted([*best, way], key=lambda w: (-w.p, w.costs, _name(w)))[: self.most]

    def all(self) -> list[Way]:
        """All of them, the likeliest of each kind first."""
        ranked = [(place, kind, way) for kind, ways in self.ways.items() for place, way in enumerate(ways)]
        return [way for _, _, way in sorted(ranked, key=lambda r: r[:2])]


def _name(way: Way) -> tuple[str, ...]:
    """A fixed order among equals: the tags along the route, and what is sought."""
    steps = way.route.steps()
    tags = [p.tag if isinstance(p, Founder) else "" for step in steps for p in step.parents]
    sought = [repr([sorted(kind) for kind in w.kinds]) for step in steps for w in step.seeks]
    return (*tags, *sought)
