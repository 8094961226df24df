"""Crosses of many loci against plain enumeration, and all pairs of a large colony at once."""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable
from fractions import Fraction
from itertools import product
from typing import Any

import numpy as np

from eggtooth.engine.facts.inheritance import Allele, Genotype, Locus, Mode
from eggtooth.engine.genetics.crosses import cross
from eggtooth.engine.genetics.many import Stock, Wanted, wish_chances
from eggtooth.engine.genetics.outcomes import look_table, outcomes

MALES, FEMALES, WISHES, LOCI = 300, 800, 10, 40


def best_of(times: int, run: Callable[[], Any]) -> float:
    """Least seconds of processor time of several runs; the wall clock says more of the machine's load."""
    seen = []
    for _ in range(times):
        started = time.process_time()
        run()
        seen.append(time.process_time() - started)
    return min(seen)


def loci(count: int, mode: Mode) -> list[Locus]:
    """Invented loci of one variant each."""
    return [Locus(f"L{i}", (Allele(f"G{i}", mode),)) for i in range(count)]


def enumerate_plainly(count: int) -> dict[tuple[int, ...], float]:
    """Looks of het x het at `count` incomplete dominant loci by every gamete with every gamete, in floats."""
    odds: dict[tuple[int, ...], float] = {}
    gametes = list(product((0, 1), repeat=count))
    each = 0.25**count
    for his in gametes:
        for hers in gametes:
            look = tuple(map(int.__add__, his, hers))
            odds[look] = odds.get(look, 0.0) + each
    return odds


def het_cross(count: int, mode: Mode) -> Any:
    """A cross of two animals het at every locus."""
    animal = {locus: {Genotype(0, 1): Fraction(1)} for locus in loci(count, mode)}
    return cross(animal, animal)


def many_loci() -> bool:
    """Twelve loci segregating in both parents; true when it missed the mark."""
    nine = best_of(2, lambda: enumerate_plainly(9))
    eight = best_of(2, lambda: enumerate_plainly(8))
    scaled = nine * 4**3
    table = best_of(5, lambda: look_table(het_cross(12, Mode.INCOMPLETE)))
    listed = best_of(3, lambda: list(outcomes(het_cross(12, Mode.RECESSIVE))))
    few = best_of(5, lambda: list(outcomes(het_cross(15, Mode.INCOMPLETE), 20)))
    print(f"plain enumeration, 9 loci: {nine:.3f} s (8 loci {eight:.3f} s, x {nine / eight:.1f} a locus)")
    print(f"the same at 12 loci, by its growth of 4 times a locus: {scaled:.1f} s")
    print(
        f"12 loci, all 531 441 looks in one exact table: {table * 1e3:.1f} ms, 1/{scaled / table:.0f} of it"
    )
    print(f"12 recessive loci, all 4096 looks listed: {listed * 1e3:.0f} ms, 1/{scaled / listed:.0f}")
    print(f"15 loci, the 20 likeliest of 14 348 907 looks: {few * 1e3:.1f} ms")
    return table > scaled / 100 or listed > scaled / 100


def stocked(size: int, male: bool, here: list[Locus], rng: np.random.Generator) -> Stock:
    """Animals with random odds at every locus."""
    return Stock(size, male, {locus: rng.dirichlet(np.ones(3), size) for locus in here})


def many_pairs() -> bool:
    """Every male with every female for every wish; true when it missed the mark."""
    rng = np.random.default_rng(7)
    here = loci(LOCI, Mode.INCOMPLETE)
    males, females = stocked(MALES, True, here, rng), stocked(FEMALES, False, here, rng)
    shown = {locus: frozenset({Genotype(0, 1), Genotype(1, 1)}) for locus in here}
    wishes = [Wanted(shown) for _ in range(WISHES)]
    ours = best_of(3, lambda: wish_chances(wishes, males, females))
    tracemalloc.start()
    wish_chances(wishes, males, females)
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    a, b = rng.random((MALES, FEMALES)), rng.random((MALES, FEMALES))
    plain = best_of(3, lambda: [np.multiply(a, b, out=a) for _ in range(WISHES * LOCI)])
    print(f"{MALES} x {FEMALES} pairs x {WISHES} wishes x {LOCI} loci: {ours:.3f} s, {peak:.0f} MB")
    print(f"as many float multiplications in NumPy: {plain:.3f} s; ours is {ours / plain:.1f} times that")
    return ours > max(1.0, 10 * plain) or peak > 500


def main() -> bool:
    """Print both, in seconds of processor time; true when a mark was missed."""
    return many_loci() | many_pairs()
