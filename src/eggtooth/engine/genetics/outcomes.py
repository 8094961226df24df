"""Walks a cross from the likeliest outcome down, making no more of them than are asked for."""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice
from typing import TYPE_CHECKING, Any

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Fate, Mode
from eggtooth.engine.genetics.crosses import Cross, LookClass

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.int64] | NDArray[Any]

NORMAL = ("Normal",)


@dataclass(frozen=True, slots=True)
class Outcome:
    """One look (by sex, when a sex-linked gene is in play) and its exact chance for one egg."""

    sex: Sex
    p: Fraction
    classes: tuple[LookClass, ...]

    @property
    def looks(self) -> tuple[str, ...]:
        """Trade names shown, visible genes first, then recessives, each by name; `Normal` when none."""
        named = [(_place(c, name), name) for c in self.classes for name in c.look]
        return tuple(name for _, name in sorted(named)) or NORMAL

    @property
    def fates(self) -> tuple[tuple[str, Fate], ...]:
        """Loci at which this genotype is known, or not known, to do harm."""
        return tuple((" ".join(c.look), c.fate) for c in self.classes if c.fate is not Fate.LIVES)

    @property
    def carries(self) -> tuple[tuple[str, Fraction], ...]:
        """Hidden genes with their chance given this look, surest first."""
        odds = [(name, p) for c in self.classes for name, p in c.carries().items()]
        return tuple(sorted(odds, key=lambda o: (-o[1], o[0])))


def _place(c: LookClass, name: str) -> tuple[bool, str]:
    for allele in c.locus.alleles:
        if name in (allele.name, *allele.look_once, *allele.look_twice):
            return allele.mode is Mode.RECESSIVE, allele.name
    return False, name


def outcomes(cross: Cross, best: int | None = None, *, genotypes: bool = False) -> Iterator[Outcome]:
    """Outcomes from the likeliest down, all of them or the `best` so many; ties in a fixed order.

    With `genotypes` each combination of genotypes is an outcome of its own, else each look. Their chances and
    `cross.lost` sum to exactly 1. Cost: for each outcome taken, a heap step and one pass over the loci,
    whatever the number of outcomes not taken.
    """
    rows = _rows(cross, genotypes)
    streams = [_of_one_sex(sex, [row.get(sex) or () for row, _ in rows]) for sex in cross.sexes]
    merged = heapq.merge(*streams, key=lambda found: -found[0])
    whole = math.prod((denominator for _, denominator in rows), start=1) * len(cross.sexes)
    for number, sex, classes in islice(merged, best):
        yield Outcome(sex, Fraction(number, whole), classes)


Numbered = tuple[tuple[int, LookClass], ...]


def _rows(cross: Cross, apart: bool) -> list[tuple[dict[Sex, Numbered], int]]:
    """For each locus its classes by sex with whole-number odds, and the denominator these are over."""
    rows = []
    for part in cross.loci:
        by_sex = {sex: part.classes(sex, apart=apart) for sex in cross.sexes}
        whole = math.lcm(*(c.p.denominator for classes in by_sex.values() for c in classes), 1)
        rows.append(({sex: tuple((int(c.p * whole), c) for c in cs) for sex, cs in by_sex.items()}, whole))
    return rows


def _of_one_sex(sex: Sex, rows: list[Numbered]) -> Iterator[tuple[int, Sex, tuple[LookClass, ...]]]:
    """(numerator, sex, classes in the order of the loci), numerators falling."""
    if not all(rows):
        return
    free = sorted((i for i, row in enumerate(rows) if len(row) > 1), key=lambda i: _first_step(rows[i]))
    first = math.prod((row[0][0] for row in rows), start=1)
    for number, picks in _best_products(first, [rows[i] for i in free]):
        chosen = [row[0][1] for row in rows]
        for i, k in zip(free, picks, strict=True):
            chosen[i] = rows[i][k][1]
        yield number, sex, tuple(chosen)


def _first_step(row: Numbered) -> Fraction:
    """How much the product falls from the likeliest class of a locus to its second; small falls first."""
    return -Fraction(row[1][0], row[0][0])


def _best_products(first: int, rows: list[Numbered]) -> Iterator[tuple[int, list[int]]]:
    """Products of one number from each row (rows falling, and ordered by `_first_step`), best first.

    Each state is the last row moved, its place there, and the places of the rows before it; its up to three
    successors (one on in this row; the next row moved too; the next row moved in its stead) are never larger,
    and every combination has exactly one way to be reached.
    """
    yield first, [0] * len(rows)
    if not rows:
        return
    start = first // rows[0][0][0] * rows[0][1][0]
    heap: list[tuple[int, int, int, int, tuple[tuple[int, int], ...]]] = [(-start, 0, 0, 1, ())]
    made = 0
    while heap:
        fallen, _, row, place, before = heapq.heappop(heap)
        number = -fallen
        picks = [0] * len(rows)
        for i, k in (*before, (row, place)):
            picks[i] = k
        yield number, picks
        for value, at, to, past in _successors(number, row, place, before, rows):
            made += 1
            heapq.heappush(heap, (-value, made, at, to, past))


def _successors(
    number: int, row: int, place: int, before: tuple[tuple[int, int], ...], rows: list[Numbered]
) -> Iterator[tuple[int, int, int, tuple[tuple[int, int], ...]]]:
    here = rows[row]
    if place + 1 < len(here):
        yield number // here[place][0] * here[place + 1][0], row, place + 1, before
    if row + 1 < len(rows):
        after = rows[row + 1]
        moved = number // after[0][0] * after[1][0]
        yield moved, row + 1, 1, (*before, (row, place))
        if place == 1:
            yield moved // here[1][0] * here[0][0], row + 1, 1, before


@dataclass(frozen=True, slots=True)
class LookTable:
    """Every look of one sex at once. `numerators` has one axis for each locus, whose places are `classes[i]`;
    each number over `denominator` is the chance for one egg.
    """

    sex: Sex
    numerators: Whole
    denominator: int
    classes: tuple[tuple[LookClass, ...], ...]


def look_table(cross: Cross) -> list[LookTable]:
    """All looks as whole numbers, one table for each sex told apart. Cost: one multiplication a look.

    64-bit numbers where the common denominator fits, Python's own whole numbers else. Memory: 8 bytes a look.
    """
    import numpy as np

    rows = _rows(cross, False)
    whole = math.prod((denominator for _, denominator in rows), start=1) * len(cross.sexes)
    kind = np.int64 if whole < 2**62 else object
    made = []
    for sex in cross.sexes:
        table: Whole = np.ones((), dtype=kind)
        for row, _ in rows:
            table = np.multiply.outer(table, np.array([n for n, _ in row[sex]], dtype=kind))
        made.append(LookTable(sex, table, whole, tuple(tuple(c for _, c in row[sex]) for row, _ in rows)))
    return made
