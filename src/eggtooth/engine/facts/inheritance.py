"""Locus and allele as values: which genotypes there are, what each looks like and whether it lives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property
from typing import NamedTuple

from eggtooth.engine.facts.sources import COMMON_PRACTICE, Source

WILD = "+"
"""The wild type, as written in a genotype; its index at every locus is 0."""

Look = tuple[str, ...]
"""Trade names shown at one locus; empty is normal, two names are a compound of two different alleles."""


class Mode(StrEnum):
    """How one copy and two copies show."""

    RECESSIVE = "recessive"
    INCOMPLETE = "incomplete dominant"
    DOMINANT = "dominant"


class Fate(StrEnum):
    """What becomes of an egg of a genotype."""

    LIVES = "lives"
    UNKNOWN = "unknown"
    LOST = "lost"
    DIES = "dies"


class Genotype(NamedTuple):
    """Allele indices at one locus (0 is the wild type).

    Autosomal, and sex-linked in a female: `a <= b`, order means nothing. Sex-linked in a male: `a` on his X,
    `b` on his Y, so that order is phase.
    """

    a: int
    b: int


@dataclass(frozen=True, slots=True)
class Allele:
    """One variant: trade name, mode, names of its looks, fate of two copies, and what it rests on."""

    name: str
    mode: Mode
    one_copy: str = ""
    two_copies: str = ""
    fate: Fate = Fate.LIVES
    subtle: bool = False
    aliases: tuple[str, ...] = ()
    disputed: bool = False
    note: str = ""
    basis: tuple[Source, ...] = (COMMON_PRACTICE,)

    @property
    def shows_once(self) -> bool:
        """Whether one copy is visible."""
        return self.mode is not Mode.RECESSIVE

    @property
    def shows_apart(self) -> bool:
        """Whether one copy and two copies look different from each other and from normal."""
        return self.mode is Mode.INCOMPLETE

    @property
    def look_once(self) -> Look:
        """The look of one copy beside the wild type."""
        return (self.one_copy or self.name,) if self.shows_once else ()

    @property
    def look_twice(self) -> Look:
        """The look of two copies."""
        if self.two_copies:
            return (self.two_copies,)
        return (f"Super {self.name}",) if self.mode is Mode.INCOMPLETE else (self.name,)


@dataclass(frozen=True)
class Locus:
    """A locus and its known variants; index 0 is the wild type, `alleles[i - 1]` has index `i`.

    Hashes by name, so a locus is a cheap key. Raises `ValueError` for a locus without variants.
    """

    name: str
    alleles: tuple[Allele, ...]
    sex_linked: bool = False
    lines: bool = False
    gene: str = ""

    def __post_init__(self) -> None:
        """Refuse an empty locus."""
        if not self.alleles:
            raise ValueError(f"locus {self.name!r} has no variants")

    def __hash__(self) -> int:
        """By name."""
        return hash(self.name)

    @property
    def size(self) -> int:
        """Number of alleles, the wild type included."""
        return len(self.alleles) + 1

    def index(self, allele: str) -> int:
        """Index of an allele by its name; `+` is 0. Raises `KeyError` when it is not of this locus."""
        return self._index[allele]

    def genotypes(self, *, male: bool = False) -> tuple[Genotype, ...]:
        """Every genotype in a fixed order, (0, 0) first.

        n(n+1)/2 of them for n alleles, or n² phased ones for a male at a sex-linked locus.
        """
        return self._phased if male and self.sex_linked else self._unordered

    def genotype(self, a: int, b: int, *, male: bool = False) -> Genotype:
        """The genotype made of two alleles, `a` from his X and `b` from his Y for a sex-linked male."""
        return Genotype(a, b) if (male and self.sex_linked) or a <= b else Genotype(b, a)

    def look(self, genotype: Genotype) -> Look:
        """What an animal of this genotype shows at the locus."""
        return self._looks[self.genotype(*genotype)]

    def fate(self, genotype: Genotype) -> Fate:
        """Whether an egg of this genotype lives; only two copies of one allele can do harm by themselves."""
        return self.alleles[genotype.a - 1].fate if genotype.a == genotype.b != 0 else Fate.LIVES

    def looks(self) -> tuple[Look, ...]:
        """The distinct looks of this locus, normal first."""
        return tuple(dict.fromkeys(self._looks[g] for g in self._unordered))

    def text(self, genotype: Genotype) -> str:
        """`A/B` with the wild type last: `Clown/+`, `Lesser/Mojave`, `+/+`."""
        held = sorted(i for i in genotype if i)
        return "/".join([*(self.alleles[i - 1].name for i in held), WILD, WILD][:2])

    def hidden(self, genotype: Genotype) -> tuple[int, ...]:
        """Alleles held but not shown: the one copy of a recessive."""
        held = {i for i in genotype if i}
        return tuple(held) if held and not self.look(genotype) else ()

    def of_line(self, line: str) -> Locus:
        """The locus of a named line: same rules, another place on the chromosomes."""
        named = f"{self.name} ({line})"
        (allele,) = self.alleles
        return replace(
            self, name=named, alleles=(replace(allele, name=named, aliases=()),), lines=False, gene=""
        )

    @cached_property
    def _index(self) -> dict[str, int]:
        return {WILD: 0} | {a.name: i for i, a in enumerate(self.alleles, 1)}

    @cached_property
    def _unordered(self) -> tuple[Genotype, ...]:
        return tuple(Genotype(a, b) for a in range(self.size) for b in range(a, self.size))

    @cached_property
    def _phased(self) -> tuple[Genotype, ...]:
        return tuple(Genotype(x, y) for x in range(self.size) for y in range(self.size))

    @cached_property
    def _looks(self) -> dict[Genotype, Look]:
        return {g: self._look(g) for g in self._unordered}

    def _look(self, g: Genotype) -> Look:
        if g.b == 0:
            return ()
        second = self.alleles[g.b - 1]
        if g.a == 0:
            return second.look_once
        return second.look_twice if g.a == g.b else (self.alleles[g.a - 1].name, second.name)


@dataclass(frozen=True, slots=True)
class Disputed:
    """A point the trade does not agree on, and the ways it can be set."""

    id: str
    claim: str
    gene: str
    sets: str
    choices: tuple[str, ...]
    default: str


@dataclass(frozen=True, slots=True)
class Rule:
    """When a cross deserves a caution; see the data file for the meaning of its keys."""

    id: str
    level: str
    about: str
    text: str
    basis: tuple[Source, ...]
    genes: tuple[str, ...] = ()
    copies: int = 1
    together: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, eq=False)
class Catalogue:
    """Every locus, name and rule known, with the disputed points as they are set. Compared by identity."""

    loci: tuple[Locus, ...]
    combinations: Mapping[str, str] = field(default_factory=dict)
    aliases: Mapping[str, str] = field(default_factory=dict)
    rules: tuple[Rule, ...] = ()
    disputed: tuple[Disputed, ...] = ()
    readings: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def by_name(self) -> Mapping[str, Locus]:
        """Loci by name."""
        return {locus.name: locus for locus in self.loci}

    @cached_property
    def home(self) -> Mapping[str, Locus]:
        """The locus of each allele, by the allele's trade name."""
        return {allele.name: locus for locus in self.loci for allele in locus.alleles}

    def locus(self, name: str) -> Locus:
        """A locus by its name, `Axanthic (north)` included. Raises `KeyError` when there is none."""
        return self.by_name[name] if name in self.by_name else self._line(name)

    def locus_of(self, allele: str) -> Locus:
        """The locus of an allele by its trade name, lines included. Raises `KeyError` when there is none."""
        return self.home[allele] if allele in self.home else self._line(allele)

    def _line(self, name: str) -> Locus:
        base, bracket, line = name.partition(" (")
        if bracket and line.endswith(")") and base in self.home and self.home[base].lines:
            return self.home[base].of_line(line[:-1])
        raise KeyError(name)
