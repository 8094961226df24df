"""Routes of a large stock: in each generation only the most promising young are followed.

All males are scored with all females for every way to choose young, as arrays; only the best are worked out
exactly. What is scored low is never looked at, so the front found is the best so far and no proof.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Sex
from eggtooth.engine.planning.generations.ages import Timetable
from eggtooth.engine.planning.generations.candidates import (
    Candidate,
    Side,
    Tables,
    chosen,
    founder,
    held_back,
    kinships,
)
from eggtooth.engine.planning.generations.chances import Chances, InHand
from eggtooth.engine.planning.generations.choices import Choices, kinds_by_look
from eggtooth.engine.planning.generations.everything import begins, may_meet
from eggtooth.engine.planning.generations.goal import SEXES, Kind, Wanted, unordered
from eggtooth.engine.planning.generations.stock import Rules, Stock
from eggtooth.engine.planning.generations.structure import Kept, Parent, Route, Step
from eggtooth.engine.planning.pairs import TOLERANCE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Picks = dict[tuple[int, int, Wanted], float]
"""Pairs, by their places among sires and dams, with the young chosen from them; and a score."""

FOR_EACH_WAY = 4
"""Best pairs taken for each way to choose young, times the width over 20."""


@dataclass
class Beam:
    """One search of a given width: founders and young of each sex that are followed in a generation."""

    stock: Stock
    rules: Rules
    choices: Choices
    chances: Chances
    times: Timetable
    width: int
    _memory: dict[Step, InHand] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Choose founders, and lay out heredity."""
        heredity = self.chances.heredity
        self.tables = Tables(heredity.loci, self.choices.wish, float(heredity.r))
        self.few = chosen(self.stock, self.tables, self.width)
        self.tags = [f.tag for f in (*self.few.males, *self.few.females)]
        self.kin = kinships(self.tags, self.rules.kin)

    @property
    def whole(self) -> bool:
        """Whether all founders are followed."""
        return len(self.tags) == len(self.stock.males) + len(self.stock.females)

    def routes(self) -> Iterator[Route]:
        """Promising routes, generation by generation."""
        males = [founder(f) for f in self.few.males]
        females = [founder(f) for f in self.few.females]
        old = (0, 0)
        while len(males) > old[0] or len(females) > old[1]:
            sires, dams = Side(tuple(males), True, self.tables), Side(tuple(females), False, self.tables)
            if not males or not females:
                return
            fit = self._fit(sires, dams, old)
            old = len(males), len(females)
            yield from self._ends(sires, dams, fit)
            picks = {sex: self._picks(sires, dams, fit, sex) for sex in SEXES}
            yield from self._sib_ends(picks, sires, dams)
            males += self._worked_out(picks[Sex.MALE], sires, dams)
            females += self._worked_out(picks[Sex.FEMALE], sires, dams)

    def _fit(self, sires: Side, dams: Side, old: tuple[int, int]) -> NDArray[np.bool_]:
        """[male, female]: not paired in an earlier generation, not too closely related, in time."""
        kin = sires.descent(self.tags) @ self.kin @ dams.descent(self.tags).T
        fit = kin <= self.rules.kinship_limit + TOLERANCE
        fit[: old[0], : old[1]] = False
        return fit & (self._start(sires, dams) <= self.times.seasons)

    def _start(self, sires: Side, dams: Side) -> NDArray[np.int64]:
        import numpy as np

        return np.maximum(sires.seasons[:, None], dams.seasons[None, :])

    def _ends(self, sires: Side, dams: Side, fit: NDArray[np.bool_]) -> Iterator[Route]:
        """The pairs likeliest to bring the wish, for each season they can start in."""
        import numpy as np

        wish = self.choices.wish
        chance = np.zeros((len(sires.candidates), len(dams.candidates)))
        for sex in wish.sexes:
            chance += self._matching(sires, dams, wish.kinds, sex) / 2
        start = self._start(sires, dams)
        for season in range(1, self.times.seasons + 1):
            score = np.where(fit & (start <= season), self._brings(chance), 0.0)
            score *= sires.p[:, None] * dams.p[None, :]
            for i, j in _best(score, 3 * self.width):
                male, female = sires.candidates[i].parent, dams.candidates[j].parent
                if not may_meet(male, (female,), self.rules, self.choices):
                    continue
                tries = season - begins(male, (female,), self.times) + 1
                yield Route(Step(male, (female,), (wish,), tries), season, self.times)

    def _picks(self, sires: Side, dams: Side, fit: NDArray[np.bool_], sex: Sex) -> Picks:
        """The most promising pairs for each way to choose a young one of a sex, with their scores."""
        import numpy as np

        picks: Picks = {}
        open_to = fit & (self._start(sires, dams) <= self.times.seasons - self.times.after(sex))
        if not open_to.any():
            return picks
        there = sires.p[:, None] * dams.p[None, :] * open_to
        for kinds in self._ways(sex):
            chance = self._matching(sires, dams, kinds, sex) / 2
            promise = self._matching(sires, dams, kinds, sex, promise=True) / 2
            good = np.divide(promise, chance, out=np.zeros_like(chance), where=chance > 1e-12)
            score = self._brings(chance) * good * there
            for i, j in _best(score, max(1, FOR_EACH_WAY * self.width // 20)):
                picks[i, j, Wanted(kinds, sex)] = float(score[i, j])
        return picks

    def _sib_ends(self, picks: Mapping[Sex, Picks], sires: Side, dams: Side) -> Iterator[Route]:
        """A son and a daughter of one promising pair, paired for the wish, where the limit allows it."""
        best: dict[tuple[int, int], dict[Sex, tuple[float, Wanted]]] = {}
        for sex, found in picks.items():
            for (i, j, seeks), score in found.items():
                held = best.setdefault((i, j), {})
                if sex not in held or score > held[sex][0]:
                    held[sex] = score, seeks
        both = [(ij, held) for ij, held in best.items() if len(held) == len(SEXES)]
        both.sort(key=lambda x: -x[1][Sex.MALE][0] * x[1][Sex.FEMALE][0])
        for (i, j), held in both[: self.width]:
            male, female = sires.candidates[i].parent, dams.candidates[j].parent
            yield from self._sib_end(male, female, held[Sex.MALE][1], held[Sex.FEMALE][1])

    def _sib_end(self, male: Parent, female: Parent, son: Wanted, daughter: Wanted) -> Iterator[Route]:
        if not may_meet(male, (female,), self.rules, self.choices):
            return
        seen = [self.choices.as_seen(male, (female,), w) for w in (son, daughter)]
        seeks = tuple(w for w in seen if w is not None)
        if len(seeks) < len(seen):
            return
        for tries in range(1, self.times.seasons):
            first = Step(male, (female,), seeks, tries)
            pair = Kept(first, 0), (Kept(first, 1),)
            start = begins(*pair, self.times)
            if start > self.times.seasons or not may_meet(*pair, self.rules, self.choices):
                return
            for seasons in range(start, self.times.seasons + 1):
                last = Step(*pair, (self.choices.wish,), seasons - start + 1)
                yield Route(last, seasons, self.times)

    def _worked_out(self, picks: Picks, sires: Side, dams: Side) -> list[Candidate]:
        """The best picks as candidates, spread over what they may be."""
        found: list[Candidate] = []
        taken: dict[object, int] = {}
        for (i, j, seeks), _ in sorted(picks.items(), key=lambda pick: -pick[1]):
            if len(found) >= 2 * self.width:
                break
            male, female = sires.candidates[i].parent, dams.candidates[j].parent
            candidate = self._held(male, female, seeks)
            if candidate is None:
                continue
            bucket = (candidate.season, _shape(candidate))
            taken[bucket] = taken.get(bucket, 0) + 1
            if taken[bucket] <= max(3, self.width // 4):
                found.append(candidate)
        return found

    def _held(self, male: Parent, female: Parent, seeks: Wanted) -> Candidate | None:
        if not may_meet(male, (female,), self.rules, self.choices):
            return None
        start, wait = begins(male, (female,), self.times), self.times.after(seeks.sex)
        seen = self.choices.as_seen(male, (female,), seeks)
        if seen is None:
            return None
        seeks = seen
        step = Step(male, (female,), (seeks,), max(1, self.times.seasons - wait - start + 1))
        route = Route(step, self.times.seasons, self.times)
        return held_back(Kept(step, 0), start + wait, self.chances.young(step, route, self._memory))

    def _ways(self, sex: Sex) -> Iterator[tuple[Kind, ...]]:
        """Ways to choose young, by the alleles there are at each locus among these founders and the wish."""
        rows = []
        for place, locus in enumerate(self.tables.loci):
            here = {0} | {a for g in self.choices.wish.kinds[place] for a in g}
            for animal in (*self.few.males, *self.few.females):
                here |= {a for state, _ in animal.odds for a in state[place]}
            made = {unordered(locus.genotype(a, b)) for a, b in product(sorted(here), repeat=2)}
            rows.append([k for k in kinds_by_look(locus, made) if self._worth(place, k)])
        return product(*rows)

    def _worth(self, place: int, kind: Kind) -> bool:
        """Kinds that hold something of the wish there; those without are chosen only by not minding."""
        return self.choices.of_use(place, kind)

    def _brings(self, chance: Floats) -> Floats:
        """Chance that a season brings one, for each chance of a hatchling being one."""
        import numpy as np

        total = np.zeros_like(chance)
        for p in reversed(self.chances.hatchlings):
            total = total * (1 - chance) + p
        return 1 - total

    def _matching(
        self, sires: Side, dams: Side, kinds: tuple[Kind, ...], sex: Sex, *, promise: bool = False
    ) -> Floats:
        """[male, female]: chance that an egg of a sex hatches as sought (times its promise)."""
        import numpy as np

        whole = np.ones((len(sires.candidates), len(dams.candidates)))
        son = sex is Sex.MALE
        for place, kind in enumerate(kinds):
            weight = self.tables.mask(place, kind, male=son)
            if promise:
                weight = weight * self.tables.promise(place, male=son)
            table = self.tables.passed(place, sex) @ weight
            whole *= sires.odds[place] @ table @ dams.odds[place].T
        return whole


def _best(score: Floats, most: int) -> list[tuple[int, int]]:
    """Places of the best scores above nothing, best first."""
    import numpy as np

    flat = score.ravel()
    most = min(most, int((flat > 0).sum()))
    if not most:
        return []
    top = np.argpartition(-flat, most - 1)[:most]
    top = top[np.lexsort((top, -flat[top]))]
    return [divmod(int(i), score.shape[1]) for i in top]


def _shape(candidate: Candidate) -> tuple[object, ...]:
    """What a candidate may be, roughly: genotypes at each locus that have a good share."""
    shape = []
    for place in range(len(candidate.odds[0][0])):
        shares: dict[object, float] = {}
        for state, p in candidate.odds:
            shares[state[place]] = shares.get(state[place], 0.0) + p
        shape.append(tuple(sorted((str(g), round(p, 1)) for g, p in shares.items() if p >= 0.05)))
    return tuple(shape)
