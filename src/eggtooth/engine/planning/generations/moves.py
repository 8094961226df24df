"""Small changes to a route: a season, a try, a second female, a sister held back, another animal."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from eggtooth.engine.colony import Sex
from eggtooth.engine.planning.generations.chances import Chances
from eggtooth.engine.planning.generations.choices import Choices, kinds_by_look
from eggtooth.engine.planning.generations.everything import may_meet
from eggtooth.engine.planning.generations.front import Way
from eggtooth.engine.planning.generations.goal import State, Wanted
from eggtooth.engine.planning.generations.stock import Rules, Stock
from eggtooth.engine.planning.generations.structure import Founder, Kept, Parent, Route, Step, exchanged

OTHERS = 3
"""Animals tried in the place of one, or beside it: so many of the likeliest."""


@dataclass(frozen=True)
class Moves:
    """Finds the neighbours of a route. At most `side_by_side` females in a step."""

    stock: Stock
    rules: Rules
    choices: Choices
    chances: Chances
    side_by_side: int

    def around(self, way: Way) -> Iterator[Route]:
        """Routes one change away that are allowed and in time, each once."""
        seen = {way.route}
        for changed in self._all(way):
            route = self.as_seen(changed)
            if route is None:
                continue
            route = route.trimmed()
            if route not in seen and route.in_time() and self.allowed(route):
                seen.add(route)
                yield route

    def as_seen(self, route: Route) -> Route | None:
        """The route with every choice by look, as the pairs are now; None when a choice finds nothing."""

        def seen(step: Step) -> Step | None:
            made: dict[Step, Step] = {}
            for before in step.before():
                now = seen(before)
                if now is None:
                    return None
                made[before] = now
            step = exchanged(step, made)
            if step.seeks is route.last.seeks:
                return step
            seeks = [self.choices.as_seen(step.male, step.females, w) for w in step.seeks]
            found = tuple(w for w in seeks if w is not None)
            return replace(step, seeks=found) if len(found) == len(seeks) else None

        last = seen(route.last)
        return None if last is None else replace(route, last=last)

    def allowed(self, route: Route) -> bool:
        """Whether every pair of the route may meet, and every step seeks what its females can give."""
        return all(
            may_meet(step.male, step.females, self.rules, self.choices)
            and (len(step.females) == 1 or len(step.flat) == 1 or step == route.last)
            for step in route.steps()
        )

    def _all(self, way: Way) -> Iterator[Route]:
        yield from self._seasons(way.route)
        for step in way.route.steps():
            for other in self._tries(step):
                yield put(way.route, step, other)
            for other in self._animals(step, way):
                yield put(way.route, step, other)
            if step != way.route.last:
                for other in self._kinds(step):
                    yield put(way.route, step, other)
        yield from self._sisters(way.route)

    def _seasons(self, route: Route) -> Iterator[Route]:
        for seasons in (route.seasons - 1, route.seasons + 1):
            if 1 <= seasons <= route.times.seasons:
                yield replace(route, seasons=seasons)
                if seasons > route.seasons:
                    longer = {s: replace(s, tries=s.tries + 1) for s in route.steps()}
                    yield replace(put_all(route, longer), seasons=seasons)

    def _tries(self, step: Step) -> Iterator[Step]:
        yield replace(step, tries=step.tries + 1)
        if step.tries > 1:
            yield replace(step, tries=step.tries - 1)

    def _animals(self, step: Step, way: Way) -> Iterator[Step]:
        """Another founder in a founder's place; one more beside; one fewer."""
        males = self._likeliest(step, way, Sex.MALE)
        females = self._likeliest(step, way, Sex.FEMALE)
        if isinstance(step.male, Founder):
            yield from (replace(step, male=male) for male in males)
        for i, female in enumerate(step.females):
            rest = step.females[:i] + step.females[i + 1 :]
            if isinstance(female, Founder):
                yield from (
                    replace(step, females=(*step.females[:i], f, *step.females[i + 1 :])) for f in females
                )
                if rest:
                    yield replace(step, females=rest)
        if len(step.females) < self.side_by_side:
            yield from (replace(step, females=(*step.females, f)) for f in females)

    def _likeliest(self, step: Step, way: Way, sex: Sex) -> list[Founder]:
        """Founders not in the step that would bring what it seeks with the best chance."""
        others: dict[State, float] = {}
        for parent in step.females if sex is Sex.MALE else (step.male,):
            for state, p in _odds(parent, way):
                others[state] = others.get(state, 0.0) + p
        start = max(
            (p.season for p in step.parents if isinstance(p, Founder)), default=way.route.begins(step)
        )
        here = set(step.parents)
        animals = self.stock.males if sex is Sex.MALE else self.stock.females
        fit = (a for a in animals if a not in here and a.season <= start)
        scored = [(self._scored(a, others, step.seeks, sex), a) for a in fit]
        best = sorted((s for s in scored if s[0] > 0), key=lambda s: (-s[0], s[1].tag))
        return [animal for _, animal in best[:OTHERS]]

    def _scored(
        self, animal: Founder, others: Mapping[State, float], seeks: tuple[Wanted, ...], sex: Sex
    ) -> float:
        chance = self.chances.heredity.chance
        total = 0.0
        for mine, p in animal.odds:
            for other, weight in others.items():
                sire, dam = (mine, other) if sex is Sex.MALE else (other, mine)
                total += p * weight * math.prod(chance(sire, dam, w) for w in seeks)
        return total

    def _kinds(self, step: Step) -> Iterator[Step]:
        """Another way to choose at one locus."""
        for at, seeks in enumerate(step.seeks):
            for place in range(len(seeks.kinds)):
                made = self.choices.made(place, step.male, step.females, seeks.sex)
                for kind in kinds_by_look(self.chances.heredity.loci[place], made):
                    if kind != seeks.kinds[place]:
                        kinds = (*seeks.kinds[:place], kind, *seeks.kinds[place + 1 :])
                        other = replace(seeks, kinds=kinds)
                        yield replace(step, seeks=(*step.seeks[:at], other, *step.seeks[at + 1 :]))

    def _sisters(self, route: Route) -> Iterator[Route]:
        """One more, or one fewer, daughter held back where daughters of one step breed side by side."""
        for step in route.steps():
            for before in step.before():
                mine = [p for p in step.females if isinstance(p, Kept) and p.step == before]
                if not mine or len(before.females) > 1:
                    continue
                for n in (len(mine) - 1, len(mine) + 1):
                    if n >= 1 and len(step.females) - len(mine) + n <= self.side_by_side:
                        yield put(route, step, _with_sisters(step, before, n))


def _odds(parent: Parent, way: Way) -> list[tuple[State, float]]:
    """What a parent of a way's step may be."""
    if isinstance(parent, Founder):
        return list(parent.odds)
    young = way.chance.steps[parent.step].young
    return [(group[parent.place], p) for group, p in young.items()]


def _with_sisters(step: Step, before: Step, n: int) -> Step:
    """The step with `n` daughters of the step before; daughters stand last in what a step seeks."""
    *first, daughter = before.seeks
    made = replace(before, seeks=(*first, replace(daughter, count=n)))
    sons = sum(w.count for w in first)
    others = tuple(p for p in step.females if not (isinstance(p, Kept) and p.step == before))
    male: Parent = step.male
    if isinstance(male, Kept) and male.step == before:
        male = Kept(made, male.place)
    return replace(step, male=male, females=(*(Kept(made, sons + i) for i in range(n)), *others))


def put(route: Route, old: Step, new: Step) -> Route:
    """The route with one step exchanged."""
    return put_all(route, {old: new})


def put_all(route: Route, new: Mapping[Step, Step]) -> Route:
    """The route with steps exchanged; each new step still has the parents of the old one."""

    def build(step: Step) -> Step:
        stands = new.get(step, step)
        return exchanged(stands, {before: build(before) for before in stands.before()})

    return replace(route, last=build(route.last))
