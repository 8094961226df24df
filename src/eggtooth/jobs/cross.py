"""What a pair can make: gather the two animals from what was typed or recorded, ask the engine, answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from fractions import Fraction
from typing import Any

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.facts.inheritance import Catalogue, Fate, Genotype, Locus
from eggtooth.engine.genetics.cautions import Caution
from eggtooth.engine.genetics.crosses import LookClass, given_look
from eggtooth.engine.genetics.notation import NotationError, read
from eggtooth.engine.genetics.report import CrossReport, LookRow, report
from eggtooth.engine.genetics.statement import Genotypes, Maker
from eggtooth.engine.genetics.transmission import RECOMBINATION
from eggtooth.engine.wording import joined, say

GenotypesOf = Callable[[str], Genotypes]
"""Genotypes of an animal by its tag, given everything known of its family."""


class UnfitPair(ValueError):
    """The pair cannot be crossed as asked; the message says which animal and why, one line a thing."""


@dataclass(frozen=True)
class Asked:
    """A question: two animals (genes or tags), the clutch, and the settings it is answered under."""

    sire: str
    dam: str
    eggs: int | None = None
    best: int | None = None
    recombination: Fraction = RECOMBINATION
    reasons: Mapping[str, str] = field(default_factory=dict)
    catalogue: Catalogue = field(default_factory=standard)


def answer(
    asked: Asked, colony: Colony | None = None, genotypes_of: GenotypesOf | None = None
) -> CrossReport:
    """The report of a pair. A text that is a tag of the colony is that animal, anything else is genes.

    `genotypes_of` gives an animal's odds from its whole family; without it an animal is what its own record
    says and, for the chromosome of a sex-linked gene, its parents' records. Raises `UnfitPair`.
    """
    animals = _Animals(asked, colony, genotypes_of)
    sire, dam = animals.odds(asked.sire, Sex.MALE), animals.odds(asked.dam, Sex.FEMALE)
    if animals.problems:
        raise UnfitPair(joined("\n", animals.problems))
    if colony and asked.sire == asked.dam and asked.sire in colony.animals:
        raise UnfitPair(say("{tag} cannot be paired with itself", tag=asked.sire))
    return report(
        sire,
        dam,
        asked.catalogue,
        eggs=asked.eggs,
        best=asked.best,
        r=asked.recombination,
        reasons=asked.reasons,
    )


class _Animals:
    """Finds the odds of the animals of one question, gathering what is wrong with them."""

    def __init__(self, asked: Asked, colony: Colony | None, genotypes_of: GenotypesOf | None) -> None:
        self.asked = asked
        self.recorded = colony.animals if colony else {}
        self.genotypes_of = genotypes_of
        self.problems: list[str] = []

    def odds(self, text: str, sex: Sex) -> Genotypes:
        """Genotypes of the animal in the place of that sex."""
        animal = self.recorded.get(text)
        try:
            if animal is None:
                return self._typed(text, sex)
            if animal.sex not in (sex, Sex.UNKNOWN):
                self.problems.append(
                    say(
                        "{tag} is recorded as {sex}, so it cannot be the {place}",
                        tag=text,
                        sex=_word(animal.sex),
                        place=_place(sex),
                    )
                )
            return self.genotypes_of(text) if self.genotypes_of else self._recorded(text, sex)
        except NotationError as wrong:
            near = self._tags_like(text)
            self.problems += [
                joined(" ", (joined(": ", (_place(sex), line)), *near)) for line in wrong.problems
            ]
            return {}

    def _tags_like(self, text: str) -> list[str]:
        near = get_close_matches(text, self.recorded, n=1, cutoff=0.6)
        return [say("The nearest tag is {tag}.", tag=tag) for tag in near]

    def _typed(self, text: str, sex: Sex) -> Genotypes:
        said = read(text, self.asked.catalogue)
        if said.sex not in (sex, Sex.UNKNOWN):
            self.problems.append(
                say(
                    "{text!r} is {sex}, so it cannot be the {place}",
                    text=text,
                    sex=_word(said.sex),
                    place=_place(sex),
                )
            )
        if said.maker and sex is Sex.FEMALE:
            self.problems.append(say("{maker} is said of a male, not of the dam", maker=said.maker))
        return said.founder(male=sex is Sex.MALE)

    def _recorded(self, tag: str, sex: Sex, above: frozenset[str] = frozenset()) -> Genotypes:
        """By the animal's own record; the phase of a sex-linked copy by its parents', as far up as known."""
        animal, male = self.recorded[tag], sex is Sex.MALE
        odds = dict(read(animal.genes, self.asked.catalogue).founder(male=male))
        for locus, here in odds.items():
            known = (
                len(animal.sires) == 1 and animal.sires[0] in self.recorded and animal.dam in self.recorded
            )
            if male and locus.sex_linked and len(here) > 1 and known and tag not in above:
                odds[locus] = self._phase(locus, here, animal.sires[0], animal.dam, above | {tag})
        return odds

    def _phase(
        self, locus: Locus, here: Mapping[Genotype, Fraction], sire: str, dam: str, above: frozenset[str]
    ) -> Mapping[Genotype, Fraction]:
        wild = {Genotype(0, 0): Fraction(1)}
        his = self._recorded(sire, Sex.MALE, above).get(locus, wild)
        hers = self._recorded(dam, Sex.FEMALE, above).get(locus, wild)
        look = locus.look(locus.genotype(*next(iter(here))))
        return given_look(locus, his, hers, look, Sex.MALE, self.asked.recombination) or here


def _word(sex: Sex) -> str:
    return {Sex.MALE: say("male"), Sex.FEMALE: say("female")}.get(sex, say("of unknown sex"))


def _place(sex: Sex) -> str:
    return say("sire") if sex is Sex.MALE else say("dam")


def as_json(found: CrossReport) -> dict[str, Any]:
    """The report as one json document. Chances are floats, `exact` a fraction as text (null when inexact).

    `p` of the outcomes, of `rest` (looks not listed, when there are too many) and of the losses sum to 1.
    """
    return {
        "outcomes": [_outcome_json(row, found) for row in found.rows],
        "rest": _rest_json(found),
        "lost_before_hatch": {"p": float(found.lost), "exact": _exact(found.lost, found)},
        "cautions": [_caution_json(c) for c in found.cautions],
        "eggs": found.eggs,
        "both_sexes": [
            {"looks": list(s.looks), "at_least_one_of_each": s.both_in_clutch, "eggs_for_95": s.eggs_for_both}
            for s in found.sex_pairs
        ],
        "unsure": [
            {"look": u.look, "p": float(u.p), "if_lost": float(u.if_lost), "if_lives": float(u.if_lives)}
            for u in found.unsure
        ],
        "visuals": [
            {"look": name, "p": float(h.p), "exact": _exact(h.p, found), "at_least_one": h.at_least_one}
            for name, h in found.visuals
        ],
    }


def _outcome_json(row: LookRow, found: CrossReport) -> dict[str, Any]:
    o = row.outcome
    return {
        "looks": list(o.looks),
        "sex": o.sex.value or None,
        "p": float(o.p),
        "exact": _exact(o.p, found),
        "carries": [{"gene": name, "p": float(p)} for name, p in o.carries],
        "at_least_one": row.hope.at_least_one,
        "expected": row.hope.expected,
        "eggs_needed": dict(zip(("90", "95", "99"), row.hope.eggs_needed, strict=True)),
        "known_as": row.known_as or None,
        "fate": [{"look": look, "fate": fate.value} for look, fate in o.fates],
        "two_copies": [{"gene": name, "p": float(p)} for name, p in row.two_copies],
        "genotypes": [
            {"locus": c.locus.name, "genotypes": [_genotype_json(c, g, o.sex) for g in c.genotypes]}
            for c in o.classes
        ],
    }


def _genotype_json(c: LookClass, g: Genotype, sex: Sex) -> dict[str, Any]:
    """A genotype given the look; for a son with one sex-linked copy, which maker he is."""
    told = {"genotype": c.locus.text(g), "p": float(c.genotypes[g])}
    if c.locus.sex_linked and sex is Sex.MALE and (g.a == 0) != (g.b == 0):
        return {**told, "maker": (Maker.MALE if g.b else Maker.FEMALE).value}
    return told


def _rest_json(found: CrossReport) -> dict[str, Any]:
    count, p = found.rest
    return {"looks": count, "p": float(p), "exact": _exact(p, found)}


def _caution_json(c: Caution) -> dict[str, Any]:
    basis = [source.cite for source in c.basis]
    return {
        "id": c.id,
        "text": c.text,
        "level": c.level,
        "basis": basis,
        "p": float(c.p),
        "overridden": c.reason or None,
    }


def _exact(p: Fraction, found: CrossReport) -> str | None:
    return str(p) if found.cross.exact else None


FATE_TEXT = {
    Fate.UNKNOWN: say("two copies, not known to live"),
    Fate.DIES: say("dies at or soon after hatching"),
}
