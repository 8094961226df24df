"""Every route of a small stock, one after the other: nothing is left out within the space named."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import combinations
from math import comb

from eggtooth.engine.colony import Sex
from eggtooth.engine.planning.generations.ages import Timetable
from eggtooth.engine.planning.generations.choices import Choices
from eggtooth.engine.planning.generations.goal import Wanted
from eggtooth.engine.planning.generations.stock import Rules, Stock, females_used
from eggtooth.engine.planning.generations.structure import (
    Founder,
    Kept,
    Parent,
    Route,
    Step,
    earliest,
)

Females = tuple[Parent, ...]
Pair = tuple[Parent, Females]


class TooMany(Exception):
    """There are more routes than were allowed for."""


@dataclass(frozen=True, slots=True)
class Space:
    """Which routes are looked at: trees of pairs in which an animal held back breeds in one step.

    Males may be used in any number of steps; a female here in several steps one after the other, never in two
    that run side by side. At most `side_by_side` females in one step: founders, or sisters held back from one
    step. A brother and sister of one step may be paired where the kinship limit allows it.
    """

    side_by_side: int = 1
    sibs: bool = True


@dataclass
class Everything:
    """Goes through every route, shallow ones first; gives up after `most` routes."""

    stock: Stock
    rules: Rules
    choices: Choices
    times: Timetable
    space: Space = field(default_factory=Space)
    most: int = 100_000

    def routes(self) -> Iterator[Route]:
        """All routes to the wish within the seasons, each once. Raises `TooMany`."""
        made = 0
        groups = sum(comb(len(self.stock.females), n) for n in range(1, self.space.side_by_side + 1))
        if groups * len(self.stock.males) > self.most:
            raise TooMany(f"more than {self.most:,} pairs to begin with")
        males: list[Parent] = list(self.stock.males)
        females: list[Females] = [
            group
            for n in range(1, self.space.side_by_side + 1)
            for group in combinations(self.stock.females, n)
        ]
        sibs: list[Pair] = []
        crosses = 0
        while True:
            new_males: list[Parent] = []
            new_females: list[Females] = []
            new_sibs: list[Pair] = []
            for male, group in [*self._pairs(males, females, crosses), *sibs]:
                for route in self._ends(male, group):
                    made += 1
                    if made > self.most:
                        raise TooMany(f"more than {self.most:,} routes")
                    yield route
                for step in self._steps(male, group):
                    if (len(males) + len(new_males)) * (len(females) + len(new_females)) > 10 * self.most:
                        raise TooMany(f"more than {10 * self.most:,} pairs")
                    _sorted_in(step, new_males, new_females, new_sibs)
            if not (new_males or new_females or new_sibs):
                return
            males, females, crosses = males + new_males, females + new_females, crosses + 1
            sibs = [pair for pair in new_sibs if self._meet(*pair)]

    def _pairs(self, males: list[Parent], females: list[Females], crosses: int) -> Iterator[Pair]:
        """Pairs with exactly so many crosses behind the deeper of the two."""
        for male in males:
            for group in females:
                if max(behind(male), *map(behind, group)) == crosses and self._meet(male, group):
                    yield male, group

    def _meet(self, male: Parent, group: Females) -> bool:
        return (
            may_meet(male, group, self.rules, self.choices)
            and begins(male, group, self.times) <= self.times.seasons
        )

    def _ends(self, male: Parent, group: Females) -> Iterator[Route]:
        if not self.choices.makes(male, group, self.choices.wish):
            return
        start = begins(male, group, self.times)
        for seasons in range(start, self.times.seasons + 1):
            for tries in range(1, seasons - start + 2):
                route = Route(Step(male, group, (self.choices.wish,), tries), seasons, self.times)
                if route.in_time() and route.trimmed() == route:
                    yield route

    def _steps(self, male: Parent, group: Females) -> Iterator[Step]:
        """Every way to hold young back from a pair that can still be of use."""
        start = begins(male, group, self.times)
        for seeks in self._sought(male, group):
            wait = max(self.times.after(w.sex) for w in seeks)
            for tries in range(1, self.times.seasons - wait - start + 2):
                yield Step(male, group, seeks, tries)

    def _sought(self, male: Parent, group: Females) -> Iterator[tuple[Wanted, ...]]:
        sons = list(self.choices.ways(male, group, Sex.MALE))
        daughters = list(self.choices.ways(male, group, Sex.FEMALE))
        yield from ((son,) for son in sons)
        yield from ((daughter,) for daughter in daughters)
        if len(group) > 1:
            return
        for daughter in daughters:
            for n in range(2, self.space.side_by_side + 1):
                yield (replace(daughter, count=n),)
            if self.space.sibs and self._sibs_may_meet(male, group):
                for n in range(1, self.space.side_by_side + 1):
                    yield from ((son, replace(daughter, count=n)) for son in sons)

    def _sibs_may_meet(self, male: Parent, group: Females) -> bool:
        some = Step(male, group, (Wanted((), Sex.MALE), Wanted((), Sex.FEMALE)))
        return not self.rules.too_close(Kept(some, 0), Kept(some, 1))


def _sorted_in(step: Step, males: list[Parent], females: list[Females], sibs: list[Pair]) -> None:
    young = [Kept(step, i) for i in range(len(step.flat))]
    sons = [k for k in young if k.sex is Sex.MALE]
    daughters = tuple(k for k in young if k.sex is Sex.FEMALE)
    if sons and daughters:
        sibs.append((sons[0], daughters))
    elif sons:
        males.append(sons[0])
    else:
        females.append(daughters)


def behind(parent: Parent) -> int:
    """Crosses behind an animal."""
    return 0 if isinstance(parent, Founder) else parent.step.depth


def begins(male: Parent, group: Females, times: Timetable) -> int:
    """Earliest season a male and his females can all breed in."""
    return earliest(Step(male, group, ()), times)


def may_meet(male: Parent, group: Females, rules: Rules, choices: Choices) -> bool:
    """Whether kinship, cautions and the females' own pasts allow the pair."""
    pasts = {p.step if isinstance(p, Kept) else p: females_used(p) for p in (male, *group)}
    used = [tag for past in pasts.values() for tag in past]
    if len(used) > len(set(used)) or any(rules.too_close(male, female) for female in group):
        return False
    return not rules.blocked(choices.states(male), [s for f in group for s in choices.states(f)])
