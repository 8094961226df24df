"""The exact chance of a route, from the odds of its founders to the season its wish hatches in.

What a step knows is, for the true genotypes of the young it seeks, the chance that these young are in hand at
the end of each season. A pair begins when both its sides are ready; given its true genotypes every season is
alike and every hatchling independent, so waiting for the first fit one is a geometric wait, and which one it
is does not depend on the wait. Sums over true genotypes carry the keeper's uncertainty on exactly: a barren
pair counts against a possible het, a fit one for it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import product

from eggtooth.engine.planning.generations.goal import Heredity, State, Wanted
from eggtooth.engine.planning.generations.seasons import (
    Hatchlings,
    added,
    brings,
    first_done,
    misses,
    usual_season,
)
from eggtooth.engine.planning.generations.structure import Founder, Parent, Route, Step, waits

Seasons = list[float]
"""A number for each season, from season 0 (nothing happens in it) to the last."""

Group = tuple[State, ...]
InHand = dict[Group, Seasons]
"""For the true genotypes of a group of young: the chance that they are first all in hand in each season."""

Begun = dict[tuple[State, Group], Seasons]
"""For the true genotypes of a male and his females: the chance that they are first put together then."""


@dataclass
class StepChance:
    """One step of a route: when it is begun, by true genotypes; chance done by season; pairings expected."""

    step: Step
    begun: Begun
    done: Seasons
    pairings: float
    young: dict[Group, float] = field(default_factory=dict)
    """True genotypes of the young held back, with the chance that it comes to that; empty for the last."""


@dataclass
class RouteChance:
    """Chance of a route by its season, pairings expected, and its steps in order."""

    p: float
    pairings: float
    steps: dict[Step, StepChance] = field(default_factory=dict)


@dataclass(frozen=True)
class Chances:
    """Works out routes under one set of assumptions on heredity and clutches."""

    heredity: Heredity
    hatchlings: Hatchlings = field(default_factory=usual_season)

    def of(self, route: Route) -> RouteChance:
        """The exact chance of a route.

        A founder used twice whose genotype is not sure is gone through genotype by genotype. Cost: for each
        step the product of its parents' possible genotypes, and that again for each such founder.
        """
        limits, whole = route.deadlines(), RouteChance(0.0, 0.0)
        for weight, fixed in fixings(route):
            self._under(route, limits, fixed, weight, whole)
        whole.p = math.fsum(whole.steps[route.last].done)
        whole.pairings = math.fsum(s.pairings for s in whole.steps.values())
        return whole

    def young(self, step: Step, route: Route, memory: dict[Step, InHand]) -> InHand:
        """Genotypes of the young a step of a route holds back, by season, as if no season were too late.

        Steps worked out before are taken from `memory`. Founders used twice count as if they were two.
        """
        for before in step.before():
            self.young(before, route, memory)
        if step not in memory:
            begun = self.begun(step, memory, {}, route, route.seasons)
            memory[step] = self._grown(step, begun, route.seasons, last=False)[2]
        return memory[step]

    def _under(
        self,
        route: Route,
        limits: Mapping[Step, int],
        fixed: Mapping[str, State],
        weight: float,
        whole: RouteChance,
    ) -> None:
        """Add the route's chances, given the genotypes of some founders, with a weight."""
        in_hand: dict[Step, InHand] = {}
        for step in route.steps():
            begun = self.begun(step, in_hand, fixed, route, limits[step])
            last = step == route.last
            done, pairings, groups = self._grown(step, begun, limits[step], last)
            in_hand[step] = groups
            young = {group: math.fsum(seasons) for group, seasons in groups.items()}
            _add(whole, StepChance(step, begun, done, pairings, young), weight)

    def begun(
        self,
        step: Step,
        in_hand: Mapping[Step, InHand],
        fixed: Mapping[str, State],
        route: Route,
        limit: int,
    ) -> Begun:
        """When a step's parents are first all ready, by their true genotypes."""
        sides: list[tuple[Parent, ...]] = [(p,) for p in step.parents if isinstance(p, Founder)]
        sides += [tuple(p for p in step.parents if _from(p, before)) for before in step.before()]
        ready = [self._ready(side, in_hand, fixed, route, step, limit) for side in sides]
        if step == route.last:
            ready = self._lumped(step, sides, ready)
        places = {parent: i for i, parent in enumerate(parent for side in sides for parent in side)}
        order = [places[p] for p in step.parents]
        found: Begun = {}
        for choice in product(*(r.items() for r in ready)):
            states = [s for group, _ in choice for s in group]
            together = [math.prod(column) for column in zip(*(so_far for _, so_far in choice), strict=True)]
            key = states[order[0]], tuple(states[i] for i in order[1:])
            first = [b - a for a, b in zip([0.0, *together], together, strict=False)]
            found[key] = [x + y for x, y in zip(found[key], first, strict=True)] if key in found else first
        return found

    def _lumped(
        self, step: Step, sides: list[tuple[Parent, ...]], ready: list[dict[Group, Seasons]]
    ) -> list[dict[Group, Seasons]]:
        """Genotypes of a parent that make the wish with the same chances, whatever the other side, as one.

        Exact for the last step, of whose young nothing but the wish counts.
        """
        his = [group for side, known in zip(sides, ready, strict=True) for group in known
               if side == (step.male,)]  # fmt: skip
        if not his:
            return ready
        sires = list(dict.fromkeys(group[0] for group in his))
        found = []
        for side, known in zip(sides, ready, strict=True):
            alike: dict[tuple[float, ...], Group] = {}
            kept: dict[Group, Seasons] = {}
            for group, so_far in known.items():
                if side == (step.male,):
                    kept[group] = so_far
                    continue
                chances = (self.heredity.chance(s, d, w) for s in sires for d in group for w in step.seeks)
                name = alike.setdefault(tuple(chances), group)
                before = kept.get(name)
                kept[name] = [x + y for x, y in zip(before, so_far, strict=True)] if before else so_far
            found.append(kept)
        return found

    def _ready(
        self,
        side: tuple[Parent, ...],
        in_hand: Mapping[Step, InHand],
        fixed: Mapping[str, State],
        route: Route,
        step: Step,
        limit: int,
    ) -> dict[Group, Seasons]:
        """For the genotypes of parents that come together: chance that they can breed by each season."""
        first = side[0]
        if isinstance(first, Founder):
            odds = first.odds if first.tag not in fixed else ((fixed[first.tag], 1.0),)
            return {(s,): [p * (t >= first.season) for t in range(limit + 1)] for s, p in odds}
        wait = waits(step, first.step, route.times)
        places = [p.place for p in side if not isinstance(p, Founder)]
        found: dict[Group, Seasons] = {}
        for group, done in in_hand[first.step].items():
            key = tuple(group[i] for i in places)
            so_far = [math.fsum(done[: max(0, t - wait + 1)]) for t in range(limit + 1)]
            found[key] = [x + y for x, y in zip(found[key], so_far, strict=True)] if key in found else so_far
        return found

    def _grown(self, step: Step, begun: Begun, limit: int, last: bool) -> tuple[Seasons, float, InHand]:
        """Chance done by season, pairings expected, and (but for the last step) the genotypes in hand."""
        whole, pairings, groups = [0.0] * (limit + 1), 0.0, InHand()
        for (sire, dams), starts in begun.items():
            waits_for = self._first_done(step, sire, dams, limit)
            done, tried = _through(starts, waits_for, step.tries, limit)
            whole = [x + y for x, y in zip(whole, done, strict=True)]
            pairings += tried * len(dams)
            if last or not any(done):
                continue
            for group, p in self._groups(step, sire, dams):
                before = groups.get(group) or [0.0] * (limit + 1)
                groups[group] = [x + p * y for x, y in zip(before, done, strict=True)]
        return whole, pairings, groups

    def _first_done(self, step: Step, sire: State, dams: Group, limit: int) -> list[float]:
        """Chance that a step is done first after 1, 2, … seasons, given the true genotypes."""
        tries = max(0, min(step.tries, limit))
        if len(step.seeks) == 1 and step.seeks[0].count == 1:
            none = self.none(step, sire, dams)
            return [none**k * (1 - none) for k in range(tries)]
        sought = tuple(w.count for w in step.seeks)
        season = {(0,) * len(sought): 1.0}
        for dam in dams:
            odds = tuple(self.heredity.chance(sire, dam, w) for w in step.seeks)
            season = added(season, brings(self.hatchlings, odds, sought), sought)
        return first_done(season, sought, tries)

    def none(self, step: Step, sire: State, dams: Group) -> float:
        """Chance that a season brings none of the one kind sought."""
        chance = self.heredity.chance
        return math.prod(misses(self.hatchlings, chance(sire, dam, step.seeks[0])) for dam in dams)

    def _groups(self, step: Step, sire: State, dams: Group) -> Iterator[tuple[Group, float]]:
        """Genotypes of the young sought, given that they came."""
        young, flat = self.heredity.young, step.flat
        if len(flat) > 1:
            for choice in product(*(young(sire, dams[0], w)[1] for w in flat)):
                yield tuple(s for s, _ in choice), math.prod(p for _, p in choice)
            return
        for dam, share in zip(dams, self._first(sire, dams, flat[0]), strict=True):
            for state, p in young(sire, dam, flat[0])[1]:
                yield (state,), share * p

    def _first(self, sire: State, dams: Group, seeks: Wanted) -> list[float]:
        """Whose young it is, given that one came: the first female's in order that has one that season."""
        fails = [misses(self.hatchlings, self.heredity.chance(sire, dam, seeks)) for dam in dams]
        shares = [math.prod(fails[:j]) * (1 - fail) for j, fail in enumerate(fails)]
        return [share / math.fsum(shares) for share in shares]


def fixings(route: Route) -> Iterator[tuple[float, dict[str, State]]]:
    """Genotypes of founders used more than once and not sure, one combination at a time with its chance."""
    used = Counter(p for step in route.steps() for p in step.parents if isinstance(p, Founder))
    unsure = [f for f, times in sorted(used.items(), key=lambda u: u[0].tag) if times > 1 and len(f.odds) > 1]
    for choice in product(*(f.odds for f in unsure)):
        yield (
            math.prod(p for _, p in choice),
            {f.tag: s for f, (s, _) in zip(unsure, choice, strict=True)},
        )


def _from(parent: Parent, step: Step) -> bool:
    return not isinstance(parent, Founder) and parent.step == step


def _through(starts: Seasons, waits_for: list[float], tries: int, limit: int) -> tuple[Seasons, float]:
    """Chance done in each season, and seasons tried on average, from when a pair begins."""
    done, tried = [0.0] * (limit + 1), 0.0
    for begins, w in enumerate(starts):
        if not w:
            continue
        still = w
        for k in range(min(tries, limit - begins + 1)):
            tried += still
            done[begins + k] += w * waits_for[k]
            still -= w * waits_for[k]
    return done, tried


def _add(whole: RouteChance, part: StepChance, weight: float) -> None:
    """Mix a step's chances under one fixing into the whole."""
    kept = whole.steps.setdefault(part.step, StepChance(part.step, {}, [0.0] * len(part.done), 0.0))
    kept.pairings += weight * part.pairings
    kept.done = [x + weight * y for x, y in zip(kept.done, part.done, strict=True)]
    for group, p in part.young.items():
        kept.young[group] = kept.young.get(group, 0.0) + weight * p
    for key, starts in part.begun.items():
        before = kept.begun.get(key) or [0.0] * len(starts)
        kept.begun[key] = [x + weight * y for x, y in zip(before, starts, strict=True)]
