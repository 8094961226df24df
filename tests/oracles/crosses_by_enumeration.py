"""Crosses by writing out every genotype of both parents and every gamete of each: slow and plainly right.

Loci are written as plain tables here; nothing of the engine is used.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from typing import NamedTuple

HALF = Fraction(1, 2)
Pair = tuple[str, str]
Odds = dict[Pair, Fraction]


class PlainLocus(NamedTuple):
    """Alleles with `+` first; how one and two copies look; pairs lost before hatching."""

    name: str
    alleles: tuple[str, ...]
    once: dict[str, str]
    twice: dict[str, str]
    lost: frozenset[str] = frozenset()
    linked: bool = False


def look(locus: PlainLocus, a: str, b: str) -> tuple[str, ...]:
    """Names shown by a pair of alleles."""
    if a == b:
        return () if a == "+" else (locus.twice[a],)
    if "+" in (a, b):
        name = locus.once[a if b == "+" else b]
        return (name,) if name else ()
    return tuple(sorted((a, b)))


def enumerated(
    loci: list[PlainLocus], sire: list[Odds], dam: list[Odds], r: Fraction
) -> tuple[dict[tuple[str, tuple[str, ...]], Fraction], Fraction]:
    """Odds of (sex, sorted looks) and the odds of being lost. Cost: exponential in the loci, on purpose."""
    odds: dict[tuple[str, tuple[str, ...]], Fraction] = {}
    lost = Fraction(0)
    for his in product(*(s.items() for s in sire)):
        for hers in product(*(d.items() for d in dam)):
            for sex in "FM":
                for up in product((0, 1), repeat=len(loci)):
                    for down in product((0, 1), repeat=len(loci)):
                        p, shown, dead = HALF, [], False
                        for i, locus in enumerate(loci):
                            (x, y), p_his = his[i]
                            pair, p_hers = hers[i]
                            p *= p_his * p_hers * HALF
                            if locus.linked:
                                stays = (sex == "M") == (up[i] == 1)
                                p *= 1 - r if stays else r
                            else:
                                p *= HALF
                            a, b = (x, y)[up[i]], pair[down[i]]
                            dead = dead or (a == b and a in locus.lost)
                            shown += look(locus, a, b)
                        if dead:
                            lost += p
                        else:
                            key = (sex, tuple(sorted(shown)))
                            odds[key] = odds.get(key, Fraction(0)) + p
    return {key: p for key, p in odds.items() if p}, lost
