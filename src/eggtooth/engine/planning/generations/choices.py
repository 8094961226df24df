"""What a keeper can choose hatchlings by: at each locus of the wish one look, any look shown, or either."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Fate, Genotype, Locus
from eggtooth.engine.planning.generations.goal import (
    Heredity,
    Kind,
    State,
    Wanted,
    unordered,
    wanted_alleles,
)
from eggtooth.engine.planning.generations.structure import Founder, Parent


@dataclass(frozen=True)
class Choices:
    """What animals of a route may be, and the ways to choose among a pair's young; remembered."""

    heredity: Heredity
    wish: Wanted
    _states: dict[Parent, tuple[State, ...]] = field(default_factory=dict)

    def __reduce__(self) -> tuple[object, ...]:
        """Without what is remembered."""
        return Choices, (self.heredity, self.wish)

    def states(self, parent: Parent) -> tuple[State, ...]:
        """Every genotype an animal may truly have."""
        if parent not in self._states:
            self._states[parent] = tuple(dict.fromkeys(self._found(parent)))
        return self._states[parent]

    def _found(self, parent: Parent) -> Iterator[State]:
        if isinstance(parent, Founder):
            yield from (state for state, _ in parent.odds)
            return
        seeks = parent.step.flat[parent.place]
        for female in parent.step.females:
            for sire, dam in product(self.states(parent.step.male), self.states(female)):
                yield from (state for state, _ in self.heredity.young(sire, dam, seeks)[1])

    def makes(self, male: Parent, females: Sequence[Parent], seeks: Wanted) -> bool:
        """Whether the pair can make what is sought at all."""
        pairs = ((s, d) for f in females for s, d in product(self.states(male), self.states(f)))
        return any(self.heredity.chance(s, d, seeks) > 0 for s, d in pairs)

    def ways(self, male: Parent, females: Sequence[Parent], sex: Sex) -> Iterator[Wanted]:
        """Ways to choose one young of a sex that may carry something of the wish.

        Ways that admit the same young of this pair are one. Cost: product over loci of the looks there.
        """
        rows = [self._kinds(i, male, females, sex) for i in range(len(self.heredity.loci))]
        for kinds in product(*rows):
            if any(self.of_use(i, kind) for i, kind in enumerate(kinds)):
                yield Wanted(kinds, sex)

    def as_seen(self, male: Parent, females: Sequence[Parent], seeks: Wanted) -> Wanted | None:
        """The choice among this pair's young by the looks it names, for a choice made for another pair.

        What looks alike cannot be told apart. None when the pair makes nothing of the sort.
        """
        kinds = []
        for place, kind in enumerate(seeks.kinds):
            locus = self.heredity.loci[place]
            looks = {locus.look(g) for g in kind}
            made = self.made(place, male, females, seeks.sex)
            ways = kinds_by_look(locus, {g for g in made if locus.look(g) in looks})
            if not ways:
                return None
            kinds.append(ways[-1])
        return Wanted(tuple(kinds), seeks.sex, seeks.count)

    def of_use(self, place: int, kind: Kind) -> bool:
        """Whether some genotype of this kind holds an allele the wish asks for there."""
        return bool(wanted_alleles(kind) & wanted_alleles(self.wish.kinds[place]))

    def _kinds(self, place: int, male: Parent, females: Sequence[Parent], sex: Sex) -> list[Kind]:
        return kinds_by_look(self.heredity.loci[place], self.made(place, male, females, sex))

    def made(self, place: int, male: Parent, females: Sequence[Parent], sex: Sex) -> set[Genotype]:
        """Unordered genotypes at one locus that young of a sex may have."""
        sires = {s[place] for s in self.states(male)}
        dams = {s[place] for f in females for s in self.states(f)}
        eggs = self.heredity.eggs
        return {unordered(g) for s, d in product(sires, dams) for g in eggs(place, s, d, sex)}


def kinds_by_look(locus: Locus, made: set[Genotype]) -> list[Kind]:
    """Each single look of these genotypes, every look but normal, and all; those that die young left out."""
    fit = [g for g in sorted(made) if locus.fate(g) not in (Fate.LOST, Fate.DIES)]
    looks = dict.fromkeys(locus.look(g) for g in fit)
    kinds = [frozenset(g for g in fit if locus.look(g) == look) for look in looks]
    kinds.append(frozenset(g for g in fit if locus.look(g)))
    kinds.append(frozenset(fit))
    return [kind for kind in dict.fromkeys(kinds) if kind]
