"""Everything a page or a table needs about one pair: looks with odds, hidden genes, eggs drawn, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Catalogue, Fate, Genotype, Locus, Mode
from eggtooth.engine.genetics.cautions import Caution, cautions, overridden
from eggtooth.engine.genetics.clutches import (
    at_least,
    both_sexes,
    eggs_for_both_sexes,
    eggs_needed,
    some,
    spread_clutch,
)
from eggtooth.engine.genetics.crosses import Cross, cross
from eggtooth.engine.genetics.notation import read
from eggtooth.engine.genetics.outcomes import Outcome, outcomes
from eggtooth.engine.genetics.statement import Genotypes
from eggtooth.engine.genetics.transmission import RECOMBINATION

CONFIDENCES = (Fraction(90, 100), Fraction(95, 100), Fraction(99, 100))
MOST = 5_000
"""Outcomes made at most when no number is asked for; the rest is told as one figure."""


@dataclass(frozen=True, slots=True)
class Hope:
    """The chance of one thing wished for, for one egg and for a clutch."""

    p: Fraction
    at_least_one: float
    expected: float
    eggs_needed: tuple[int | None, ...]
    eggs: int | None = None

    def at_least(self, k: int) -> float:
        """Chance of `k` or more in the clutch."""
        if self.eggs is None:
            return spread_clutch().at_least(k, self.p)
        return float(at_least(k, float(self.p), self.eggs))

    @property
    def of_100_clutches(self) -> int:
        """Of a hundred such clutches, how many hold at least one."""
        return round(100 * self.at_least_one)


@dataclass(frozen=True, slots=True)
class LookRow:
    """One look of the cross."""

    outcome: Outcome
    hope: Hope
    known_as: str
    two_copies: tuple[tuple[str, Fraction], ...]


@dataclass(frozen=True, slots=True)
class SexPair:
    """A look that both sexes can show, when a sex-linked gene is in play."""

    looks: tuple[str, ...]
    p: Fraction
    both_in_clutch: float
    eggs_for_both: int | None


@dataclass(frozen=True, slots=True)
class Unsure:
    """Two copies nobody knows to live: their chance, and the look's share of the hatchlings either way."""

    look: str
    p: Fraction
    if_lost: Fraction
    if_lives: Fraction


@dataclass(frozen=True)
class CrossReport:
    """What one pair can make. `eggs` is the clutch size asked for; None takes the spread of the facts.

    `rows` are the likeliest looks; `rest` counts the looks left out and gives their chance together.
    `visuals` are single names with the chance that an egg shows them, whatever else it shows; `any_visual` is
    at least one recessive shown. `unsure` gives both readings of looks of which nobody knows if they live.
    """

    cross: Cross
    eggs: int | None
    rows: tuple[LookRow, ...]
    rest: tuple[int, Fraction]
    visuals: tuple[tuple[str, Hope], ...]
    any_visual: Hope | None
    sex_pairs: tuple[SexPair, ...]
    cautions: tuple[Caution, ...]
    unsure: tuple[Unsure, ...] = ()

    @property
    def lost(self) -> Fraction:
        """Chance that an egg is lost before hatching through its genotype."""
        return self.cross.lost

    @property
    def blocked(self) -> bool:
        """Whether a caution keeps this pair out of plans."""
        return any(c.blocks for c in self.cautions)

    def drawn(self, eggs: int = 100) -> tuple[int, ...]:
        """How many of so many eggs to draw for each row, then the rest, then the lost; they sum to `eggs`."""
        return shared_out([*(row.hope.p for row in self.rows), self.rest[1], self.lost], eggs)


def report(
    sire: Genotypes,
    dam: Genotypes,
    catalogue: Catalogue,
    *,
    eggs: int | None = None,
    best: int | None = None,
    r: Fraction = RECOMBINATION,
    reasons: Mapping[str, str] | None = None,
) -> CrossReport:
    """Compute the report of one pair; see `CrossReport`. `reasons` override cautions by id.

    Raises `CrossError` for odds that make no sense and `ValueError` for an override without a reason.
    Cost: the outcomes taken (all up to `MOST`, else `best`), nothing for those left out.
    """
    made = cross(sire, dam, r)
    taken = list(outcomes(made, MOST if best is None else best))
    count = made.looks_count()
    left = made.hatches - sum((o.p for o in taken), Fraction(0))
    if len(taken) == count:
        taken.sort(key=lambda o: (-o.p, o.looks, o.fates, o.sex))
    rows = tuple(LookRow(o, hope(o.p, eggs), known_as(o.looks, catalogue), _two_copies(o)) for o in taken)
    return CrossReport(
        made, eggs, rows, (count - len(taken), left), _visuals(made, eggs), _any_visual(made, eggs),
        _sex_pairs(made, taken, eggs), overridden(cautions(made, sire, dam, catalogue), reasons or {}),
        _unsure(made),
    )  # fmt: skip


@lru_cache(maxsize=4096)
def hope(p: Fraction, eggs: int | None) -> Hope:
    """The figures for one chance; a clutch of unknown size is averaged over sizes and fertility."""
    needed = tuple(eggs_needed(p, c) for c in CONFIDENCES)
    if eggs is None:
        clutch = spread_clutch()
        return Hope(p, clutch.at_least(1, p), clutch.expected(p), needed)
    return Hope(p, some(p, eggs), float(p * eggs), needed, eggs)


def shared_out(odds: Sequence[Fraction], eggs: int) -> tuple[int, ...]:
    """Whole eggs in proportion to the odds, by largest remainder; ties go to the earlier."""
    exact = [p * eggs for p in odds]
    whole = [int(x) for x in exact]
    order = sorted(range(len(odds)), key=lambda i: (whole[i] - exact[i], i))
    for i in order[: eggs - sum(whole)]:
        whole[i] += 1
    return tuple(whole)


def known_as(looks: Iterable[str], catalogue: Catalogue) -> str:
    """The trade's name for exactly this combination of looks, if it has one."""
    return _combinations(catalogue).get(frozenset(looks), "")


@lru_cache(maxsize=8)
def _combinations(catalogue: Catalogue) -> dict[frozenset[str], str]:
    """Names of combinations by the looks they are made of."""
    return {
        frozenset(word for said in read(text, catalogue).said for word in said.look): name
        for name, text in catalogue.combinations.items()
    }


def _two_copies(outcome: Outcome) -> tuple[tuple[str, Fraction], ...]:
    """Dominant genes of which a hatchling of this look may hold two copies, with the chance."""
    found = []
    for c in outcome.classes:
        for g, p in c.genotypes.items():
            if g.a == g.b != 0 and p < 1 and c.locus.alleles[g.a - 1].mode is Mode.DOMINANT:
                found.append((c.locus.alleles[g.a - 1].name, p))
    return tuple(found)


def _visuals(made: Cross, eggs: int | None) -> tuple[tuple[str, Hope], ...]:
    names: dict[str, tuple[Locus, set[Genotype]]] = {}
    for part in made.loci:
        for g in {g for sex in made.sexes for g in part.table(sex)}:
            for name in part.locus.look(part.locus.genotype(*g)):
                names.setdefault(name, (part.locus, set()))[1].add(g)
    chances = [(name, made.chance({locus: genotypes})) for name, (locus, genotypes) in names.items()]
    return tuple((name, hope(p, eggs)) for name, p in sorted(chances, key=lambda c: (-c[1], c[0])))


def _any_visual(made: Cross, eggs: int | None) -> Hope | None:
    """At least one recessive shown; None when no recessive is in play."""
    plain = {
        part.locus: [g for g in _held(made, part.locus) if not _recessive_shown(part.locus, g)]
        for part in made.loci
    }
    p = made.hatches - made.chance(plain)
    return hope(p, eggs) if p else None


def _held(made: Cross, locus: Locus) -> set[Genotype]:
    part = next(p for p in made.loci if p.locus == locus)
    return {g for sex in made.sexes for g in part.table(sex)}


def _recessive_shown(locus: Locus, g: Genotype) -> bool:
    recessive = {i for i in g if i and not locus.alleles[i - 1].shows_once}
    return bool(recessive and locus.look(g))


def _sex_pairs(made: Cross, taken: Sequence[Outcome], eggs: int | None) -> tuple[SexPair, ...]:
    """Looks with the chance of both sexes of them in one clutch. Cost: one pass over the outcomes taken."""
    odds: dict[tuple[str, ...], dict[Sex, Fraction]] = {}
    for o in taken:
        if all(fate is Fate.LIVES for _, fate in o.fates):
            by_sex = odds.setdefault(o.looks, {})
            for sex in (o.sex,) if made.sexed else (Sex.FEMALE, Sex.MALE):
                by_sex[sex] = by_sex.get(sex, Fraction(0)) + (o.p if made.sexed else o.p / 2)
    return tuple(_sex_pair(looks, by_sex, eggs) for looks, by_sex in odds.items())


def _sex_pair(looks: tuple[str, ...], by_sex: Mapping[Sex, Fraction], eggs: int | None) -> SexPair:
    males, females = by_sex.get(Sex.MALE, Fraction(0)), by_sex.get(Sex.FEMALE, Fraction(0))
    together = (
        spread_clutch().both_sexes(males, females)
        if eggs is None
        else float(both_sexes(float(males), float(females), eggs))
    )
    return SexPair(looks, males + females, together, eggs_for_both_sexes(males, females, 0.95))


def _unsure(made: Cross) -> tuple[Unsure, ...]:
    found = []
    for part in made.loci:
        unknown = [g for g in _held(made, part.locus) if part.locus.fate(g) is Fate.UNKNOWN]
        for look in dict.fromkeys(part.locus.look(g) for g in unknown):
            alike = [g for g in _held(made, part.locus) if part.locus.look(g) == look]
            here = Cross((part,), made.sexed)
            p = here.chance({part.locus: [g for g in unknown if g in alike]})
            shown = here.chance({part.locus: alike})
            lost = (shown - p) / (here.hatches - p) if here.hatches > p else Fraction(0)
            found.append(Unsure(" ".join(look), p, lost, shown / here.hatches))
    return tuple(found)
