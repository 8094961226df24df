"""The animals routes may start from, what they may be at the loci of the wish, and how related they are."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import cached_property
from itertools import product

from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.facts.inheritance import Catalogue, Genotype, Locus
from eggtooth.engine.genetics.cautions import BLOCK, cautions, concerned
from eggtooth.engine.genetics.crosses import cross
from eggtooth.engine.genetics.statement import Genotypes
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.generations.ages import Timetable, breeds_from
from eggtooth.engine.planning.generations.goal import State
from eggtooth.engine.planning.generations.structure import Founder, Parent, Step
from eggtooth.engine.planning.pairs import TOLERANCE
from eggtooth.engine.wording import say

LEAST_ODDS = 1e-6
"""Genotypes less likely than this are left out of an animal's odds, and the rest scaled up."""

MOST_STATES = 64
"""Genotypes over all loci of the wish that an animal may have; beyond it the least likely are left out."""

WILD = Genotype(0, 0)

Kin = Callable[[str, str], float]


@dataclass(frozen=True)
class Rules:
    """What keeps two animals apart: kinship above a limit, and cautions that block and were given no reason.

    A caution is weighed at the loci of the wish; founders that hold a blocked gene elsewhere are left out of
    the stock instead.
    """

    kin: Kin
    kinship_limit: float
    loci: tuple[Locus, ...]
    catalogue: Catalogue
    despite: frozenset[str] = frozenset()

    @cached_property
    def watched(self) -> tuple[int, ...]:
        """Places, among the loci of the wish, that a blocking rule speaks of."""
        risky = risky_loci(self.catalogue, self.despite)
        return tuple(i for i, locus in enumerate(self.loci) if locus in risky)

    def related(self, a: Parent, b: Parent) -> float:
        """Kinship of two animals of a route: the inbreeding of their young.

        Young of a pair with several females may be of any of them: the closest case counts.
        """
        if isinstance(a, Founder) and isinstance(b, Founder):
            return self.kin(a.tag, b.tag)
        if not isinstance(a, Founder) and not isinstance(b, Founder) and a.step == b.step:
            return self._sibs(a.step)
        return max(
            math.fsum(x * y * self.kin(i, j) for (i, x), (j, y) in product(one.items(), two.items()))
            for one, two in product(shares(a), shares(b))
        )

    def _sibs(self, step: Step) -> float:
        between = max(self.related(step.male, female) for female in step.females)
        return (self.own(step.male) + max(map(self.own, step.females)) + 2 * between) / 4

    def own(self, parent: Parent) -> float:
        """Kinship of an animal with itself: half of one and its inbreeding."""
        if isinstance(parent, Founder):
            return self.kin(parent.tag, parent.tag)
        return (1 + max(self.related(parent.step.male, f) for f in parent.step.females)) / 2

    def too_close(self, male: Parent, female: Parent) -> bool:
        """Whether their young would be inbred beyond the limit."""
        return self.related(male, female) > self.kinship_limit + TOLERANCE

    def blocked(self, sire: Iterable[State], dam: Iterable[State]) -> bool:
        """Whether a caution blocks a cross of animals that may be these."""
        if not self.watched:
            return False
        his, hers = self._may_be(sire), self._may_be(dam)
        found = cautions(cross(his, hers), his, hers, self.catalogue)
        return any(c.blocks and c.id not in self.despite for c in found)

    def _may_be(self, states: Iterable[State]) -> Genotypes:
        """Even odds over what an animal may be: only whether a harm can happen matters here."""
        held = list(states)
        sets = {self.loci[i]: {state[i] for state in held} for i in self.watched}
        return {locus: {g: Fraction(1, len(gs)) for g in gs} for locus, gs in sets.items()}


def shares(parent: Parent) -> tuple[Mapping[str, float], ...]:
    """Share of an animal's genes from each founder; several when its dam is not known beforehand."""
    if isinstance(parent, Founder):
        return ({parent.tag: 1.0},)
    found = []
    for female in parent.step.females:
        for his, hers in product(shares(parent.step.male), shares(female)):
            tags = dict.fromkeys((*his, *hers))
            found.append({t: (his.get(t, 0.0) + hers.get(t, 0.0)) / 2 for t in tags})
    return tuple(found)


def females_used(parent: Parent) -> frozenset[str]:
    """Females here that an animal's past uses; two pasts side by side must not use the same one."""
    if isinstance(parent, Founder):
        return frozenset()
    direct = {f.tag for f in parent.step.females if isinstance(f, Founder)}
    return frozenset(direct).union(*(females_used(p) for p in parent.step.parents))


@dataclass(frozen=True)
class Stock:
    """Founders by sex, and why animals here were left out (tags by reason)."""

    males: tuple[Founder, ...]
    females: tuple[Founder, ...]
    left_out: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def stock_of(
    animals: Iterable[Animal],
    genotypes_of: Callable[[str], Genotypes],
    loci: tuple[Locus, ...],
    catalogue: Catalogue,
    times: Timetable,
    on: date,
    settings: Settings,
    despite: frozenset[str] = frozenset(),
) -> Stock:
    """Founders among the animals in the room. Cost: one question of `genotypes_of` an animal."""
    risky = risky_loci(catalogue, despite) - set(loci)
    found: dict[Sex, list[Founder]] = {Sex.MALE: [], Sex.FEMALE: []}
    left: dict[str, list[str]] = {}
    for animal in sorted(animals, key=lambda a: a.tag):
        genes = genotypes_of(animal.tag) if animal.sex is not Sex.UNKNOWN else {}
        season = breeds_from(animal, times, on, settings)
        why = _unfit(animal, genes, risky, season, times)
        if why:
            left.setdefault(why, []).append(animal.tag)
        else:
            found[animal.sex].append(Founder(animal.tag, animal.sex, season, joint(genes, loci)))
    return Stock(
        tuple(found[Sex.MALE]), tuple(found[Sex.FEMALE]), {why: tuple(tags) for why, tags in left.items()}
    )


def _unfit(animal: Animal, genes: Genotypes, risky: frozenset[Locus], season: int, times: Timetable) -> str:
    if animal.sex is Sex.UNKNOWN:
        return say("sex not known")
    if season > times.seasons:
        return say("too young for these seasons")
    harmful = [locus.name for locus in genes if locus in risky and set(genes[locus]) != {WILD}]
    return say("carries {harmful}, and a caution blocks such crosses", harmful=harmful[0]) if harmful else ""


def joint(genes: Genotypes, loci: tuple[Locus, ...]) -> tuple[tuple[State, float], ...]:
    """Odds over all loci together, likeliest first; loci are taken as independent."""
    rows: list[Mapping[Genotype, Fraction]] = [genes.get(locus, {WILD: Fraction(1)}) for locus in loci]
    whole = [
        (tuple(g for g, _ in choice), math.prod(float(p) for _, p in choice))
        for choice in product(*(row.items() for row in rows))
    ]
    kept = sorted((x for x in whole if x[1] >= LEAST_ODDS), key=lambda x: (-x[1], x[0]))[:MOST_STATES]
    total = math.fsum(p for _, p in kept)
    return tuple((state, p / total) for state, p in kept)


def risky_loci(catalogue: Catalogue, despite: frozenset[str] = frozenset()) -> frozenset[Locus]:
    """Loci that a blocking caution speaks of, but for those gone against."""
    rules = [rule for rule in catalogue.rules if rule.level == BLOCK and rule.id not in despite]
    return frozenset(locus for rule in rules for locus in concerned(rule, catalogue))
