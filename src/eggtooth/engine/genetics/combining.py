"""Puts the genes a text names together, locus by locus, and refuses what cannot be."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import groupby

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Genotype, Mode
from eggtooth.engine.genetics.notation import Mention, NotationError
from eggtooth.engine.genetics.statement import Claim, Maker, Said, Statement
from eggtooth.engine.wording import say


def combined(
    mentions: Sequence[Mention], noted: bool, normal: bool, maker: Maker | None, sex: Sex
) -> Statement:
    """The statement the mentions make together. Raises `NotationError` on a contradiction."""
    said: list[Said] = []
    claims: list[Claim] = []
    ordered = sorted(mentions, key=lambda m: (m.locus.name, m.allele))
    for _, group in groupby(ordered, key=lambda m: m.locus.name):
        named = list(group)
        if any(m.claimed for m in named):
            claims += _claims(named)
        else:
            said.append(_said(tuple(named)))
    found = Statement(noted, tuple(said), tuple(claims), maker, sex)
    _agrees(found, normal)
    return found


def _claims(named: list[Mention]) -> list[Claim]:
    names = " and ".join(m.kind.name for m in named)
    if not all(m.claimed for m in named) or len({m.allele for m in named}) < len(named):
        raise NotationError(
            say(
                "{names} cannot stand together: they are of one locus, one stated and one only claimed",
                names=names,
            )
        )
    if sum((m.p or Fraction(1, 2) for m in named), Fraction(0)) > 1:
        raise NotationError(
            say("{names} are of one locus: together they cannot be likelier than 100 %", names=names)
        )
    return [Claim(m.locus, m.allele, m.p) for m in named]


@lru_cache(maxsize=10_000)
def _said(named: tuple[Mention, ...]) -> Said:
    """What is said of one locus; animals of which the same is said share it."""
    first, locus = named[0], named[0].locus
    if len(named) == 1:
        genotype = _alone(first)
        look = locus.look(genotype)
        open_copies = first.kind.mode is Mode.DOMINANT and not first.copies
        return Said(locus, look, None if open_copies else genotype)
    pair = _pair(named)
    return Said(locus, locus.look(pair), pair)


def _alone(m: Mention) -> Genotype:
    """One gene named at its locus: a bare recessive is shown, so it is there twice."""
    twice = m.copies == 2 or (m.copies == 0 and (not m.kind.shows_once or m.kind.two_copies == m.kind.name))
    return Genotype(m.allele if twice else 0, m.allele)


def _pair(named: Sequence[Mention]) -> Genotype:
    names = ", ".join(m.kind.name for m in named)
    if len(named) > 2:
        raise NotationError(say("{names} are of one locus, and an animal has two alleles there", names=names))
    a, b = named
    if a.allele == b.allele:
        if not (a.slashed or b.slashed) or a.copies or b.copies:
            raise NotationError(
                say(
                    "{name} is named twice; for two copies write {twice}",
                    name=a.kind.name,
                    twice=a.kind.look_twice[0],
                )
            )
        return Genotype(a.allele, a.allele)
    if 2 in (a.copies, b.copies):
        raise NotationError(
            say("{names} are of one locus: two copies of one leave no room for the other", names=names)
        )
    if a.copies == b.copies == 1 and not (a.kind.shows_once or b.kind.shows_once):
        raise NotationError(
            say(
                "{names} are of one locus: an animal with both shows it; write {one} {other}",
                names=names,
                one=a.kind.name,
                other=b.kind.name,
            )
        )
    return Genotype(a.allele, b.allele)


def _agrees(found: Statement, normal: bool) -> None:
    shown = [" ".join(s.look) for s in found.said if s.look]
    if normal and shown:
        raise NotationError(say("Normal and {shown} contradict each other", shown=", ".join(shown)))
    if found.maker is None:
        return
    single = [s for s in found.said if s.locus.sex_linked and s.genotype and s.genotype.a == 0]
    if not single or found.sex is Sex.FEMALE:
        raise NotationError(
            say("{maker} is said of a male with one copy of a sex-linked gene", maker=found.maker)
        )
