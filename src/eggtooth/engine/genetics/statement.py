"""What a text in trade notation says about an animal, locus by locus."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Genotype, Locus, Look

HALF = Fraction(1, 2)
ONE = Fraction(1)

Odds = Mapping[Genotype, Fraction]
"""A distribution over the genotypes of one locus; sums to 1."""

Genotypes = Mapping[Locus, Odds]
"""What an animal may be at each locus; a locus left out is surely wild type. Loci are independent."""


class Maker(StrEnum):
    """Which chromosome of a male carries the one copy of a sex-linked gene."""

    MALE = "male maker"
    FEMALE = "female maker"


class Said(NamedTuple):
    """A sure statement about one locus: the look there, and the genotype where the text fixes it.

    The genotype is unordered; `None` when the look leaves the number of copies open (a dominant gene).
    """

    locus: Locus
    look: Look
    genotype: Genotype | None


class Claim(NamedTuple):
    """One copy claimed with a probability; `p` is None for "possible het"."""

    locus: Locus
    allele: int
    p: Fraction | None


@dataclass(frozen=True, slots=True)
class Statement:
    """A text as read. `noted` is False for an empty text: nothing is known of the look.

    When `noted`, a locus that is not in `said` looks normal (every recessive not named is not shown).
    """

    noted: bool = False
    said: tuple[Said, ...] = ()
    claims: tuple[Claim, ...] = ()
    maker: Maker | None = None
    sex: Sex = Sex.UNKNOWN

    def loci(self) -> tuple[Locus, ...]:
        """The loci the text speaks of, by name."""
        named = {s.locus for s in self.said} | {c.locus for c in self.claims}
        return tuple(sorted(named, key=lambda locus: locus.name))

    def look(self, locus: Locus) -> Look | None:
        """The look stated at a locus: `()` for normal, None when the look was not noted."""
        for said in self.said:
            if said.locus == locus:
                return said.look
        return () if self.noted else None

    def possible(self, locus: Locus, *, male: bool = False) -> tuple[Genotype, ...]:
        """Genotypes the sure part of the text allows, in the order of `locus.genotypes(male=male)`.

        Claims such as `66% het` rule nothing out. Cost: one pass over the genotypes of the locus.
        """
        said = next((s for s in self.said if s.locus == locus), None)
        look = self.look(locus)
        return tuple(
            g
            for g in locus.genotypes(male=male)
            if (look is None or locus.look(g) == look)
            and (said is None or said.genotype in (None, locus.genotype(*g)))
            and self._phase_fits(locus, g, male)
        )

    def founder(self, *, male: bool = False) -> Genotypes:
        """The animal's genotypes when nothing but this text is known of it.

        It carries only what the text says; "possible het" counts one half; a dominant gene counts one copy; a
        sex-linked copy of unstated phase is on either chromosome with one half.
        """
        return {locus: self._odds(locus, male) for locus in self.loci()}

    def _odds(self, locus: Locus, male: bool) -> dict[Genotype, Fraction]:
        said = next((s for s in self.said if s.locus == locus), None)
        if said:
            sure = said.genotype or next(g for g in locus.genotypes() if locus.look(g) == said.look)
            return self._phased(locus, {sure: ONE}, male)
        odds = {Genotype(0, c.allele): HALF if c.p is None else c.p for c in self.claims if c.locus == locus}
        rest = 1 - sum(odds.values(), Fraction(0))
        return self._phased(locus, {Genotype(0, 0): rest} | odds if rest else odds, male)

    def _phased(self, locus: Locus, odds: Odds, male: bool) -> dict[Genotype, Fraction]:
        phased: dict[Genotype, Fraction] = {}
        for g, p in odds.items():
            ways = {g, Genotype(g.b, g.a)} if male and locus.sex_linked else {g}
            fit = sorted(w for w in ways if self._phase_fits(locus, w, male))
            phased |= {w: p / len(fit) for w in fit}
        return phased

    def _phase_fits(self, locus: Locus, g: Genotype, male: bool) -> bool:
        if not (male and locus.sex_linked and self.maker) or (g.a == 0) == (g.b == 0):
            return True
        return (g.b != 0) == (self.maker is Maker.MALE)
