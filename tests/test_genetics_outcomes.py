"""Outcomes come best first, are all there, and cost nothing when not asked for."""

from __future__ import annotations

import time
from fractions import Fraction

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.facts.inheritance import Genotype
from eggtooth.engine.genetics.crosses import Cross, cross
from eggtooth.engine.genetics.notation import read
from eggtooth.engine.genetics.outcomes import Outcome, look_table, outcomes

FIFTEEN = (
    "Pastel Enchi Mojave GHI Blade Java Fire Chocolate Cypress Bongo Trick Stranger Confusion Acid Arroyo"
)


def of(genes: str) -> Cross:
    """A pair alike."""
    return cross(read(genes).founder(male=True), read(genes).founder())


@given(st.data())
@settings(max_examples=40, deadline=None)
def test_best_first_and_complete(data: st.DataObject) -> None:
    loci = data.draw(st.lists(st.sampled_from(standard().loci), min_size=1, max_size=4, unique=True))
    parents = []
    for _ in "ab":
        odds = {}
        for locus in loci:
            weights = data.draw(st.lists(st.integers(1, 9), min_size=2, max_size=2))
            odds[locus] = {Genotype(0, 0): Fraction(weights[0], sum(weights)),
                           Genotype(0, 1): Fraction(weights[1], sum(weights))}  # fmt: skip
        parents.append(odds)
    made = cross(*parents)
    found = list(outcomes(made))
    assert len(found) == made.looks_count() == len({_key(o) for o in found})
    assert [o.p for o in found] == sorted((o.p for o in found), reverse=True)
    assert sum(o.p for o in found) + made.lost == 1
    assert sum(o.p for o in outcomes(made, genotypes=True)) + made.lost == 1


def _key(outcome: Outcome) -> tuple[object, ...]:
    return outcome.sex, tuple((c.look, c.fate) for c in outcome.classes)


def test_the_best_few_of_fifteen_loci() -> None:
    # 3^15 = 14 348 907 looks; the ten best without making the rest.
    made = of(FIFTEEN)
    started = time.perf_counter()
    best = list(outcomes(made, 10))
    assert time.perf_counter() - started < 1.0
    assert made.looks_count() == 3**15
    assert best[0].p == Fraction(1, 2**15)
    assert {o.p for o in best[1:]} == {Fraction(1, 2**16)}


def test_the_table_holds_the_same_chances() -> None:
    made = of("Banana Pastel het Clown Pied")
    tables = look_table(made)
    listed = sorted(o.p for o in outcomes(made))
    whole = tables[0].denominator
    numbers = np.concatenate([t.numerators.ravel() for t in tables])
    assert sorted(Fraction(int(n), whole) for n in numbers) == listed
    assert int(numbers.sum()) == whole


def test_names_stand_visible_first() -> None:
    made = of("Super Pastel Lesser Mojave Clown Piebald")
    first = next(o for o in outcomes(made) if len(o.looks) == 5)
    assert first.looks == ("Lesser", "Mojave", "Super Pastel", "Clown", "Piebald")
