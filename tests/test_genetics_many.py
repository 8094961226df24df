"""All males with all females at once equals one pair after another."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.catalogue import catalogue, standard
from eggtooth.engine.facts.inheritance import Locus
from eggtooth.engine.genetics.cautions import cautions
from eggtooth.engine.genetics.crosses import cross
from eggtooth.engine.genetics.many import harm_chances, stock, wanted, wish_chances
from eggtooth.engine.genetics.notation import read
from eggtooth.engine.genetics.statement import Genotypes
from eggtooth.engine.genetics.transmission import gametes, look_index, offspring, survives, transmission

MALES = [
    "Pastel het Clown",
    "Banana (male maker)",
    "Lesser 66% het Clown",
    "Spider Clown",
    "Normal",
    "Banana",
]
FEMALES = [
    "Clown",
    "Banana het Pied",
    "Mojave het Clown Pied",
    "Super Pastel Spider",
    "Desert",
    "Super Banana",
]
WISHES = [
    "Clown",
    "Pastel Clown",
    "Lesser Mojave",
    "het Clown female",
    "Banana male",
    "Super Banana female",
    "Spider",
]


def both(known: object = None) -> tuple[list[Genotypes], list[Genotypes]]:
    """The two lists of animals."""
    table = known or standard()
    his = [read(t, table).founder(male=True) for t in MALES]  # type: ignore[arg-type]
    return his, [read(t, table).founder() for t in FEMALES]  # type: ignore[arg-type]


@pytest.mark.parametrize("reading", ["unknown", "lost"])
def test_equals_each_cross(reading: str) -> None:
    known = catalogue(readings={"spider-two-copies": reading})
    his, hers = both(known)
    wishes = [wanted(read(t, known)) for t in WISHES]
    found = wish_chances(wishes, stock(his, male=True), stock(hers, male=False))
    for w, wish in enumerate(wishes):
        for i, sire in enumerate(his):
            for j, dam in enumerate(hers):
                made = cross(sire, dam)
                fit = {locus: _either_order(locus, genotypes) for locus, genotypes in wish.loci.items()}
                assert found[w, i, j] == pytest.approx(float(made.chance(fit, wish.sex)), abs=1e-12)


def _either_order(locus: Locus, genotypes: frozenset[tuple[int, int]]) -> list[object]:
    return [
        g for male in (False, True) for g in locus.genotypes(male=male) if locus.genotype(*g) in genotypes
    ]


def test_harm_is_found_where_the_cautions_find_it() -> None:
    his, hers = both()
    harm = harm_chances(standard(), stock(his, male=True), stock(hers, male=False))
    for i, sire in enumerate(his):
        for j, dam in enumerate(hers):
            ids = {c.id for c in cautions(cross(sire, dam), sire, dam, standard())} - {"law", "desert-dam"}
            assert {name for name, chances in harm.items() if chances[i, j] > 0} == ids


@given(st.sampled_from(standard().loci), st.sampled_from(list(Sex)), st.data())
@settings(max_examples=80, deadline=None)
def test_the_transmission_array_equals_the_exact_table(locus: Locus, child: Sex, data: st.DataObject) -> None:
    if locus.sex_linked and child is Sex.UNKNOWN:
        child = Sex.FEMALE
    table = transmission(locus, child)
    i = data.draw(st.integers(0, table.shape[0] - 1))
    j = data.draw(st.integers(0, table.shape[1] - 1))
    sire, dam = locus.genotypes(male=True)[i], locus.genotypes()[j]
    made = offspring(locus, {sire: Fraction(1)}, {dam: Fraction(1)}, child)
    order = locus.genotypes(male=child is Sex.MALE)
    assert table[i, j] == pytest.approx([float(made.get(g, 0)) for g in order], abs=1e-12)


def test_arrays_line_up_with_the_genotypes() -> None:
    banana = standard().locus("Banana")
    assert banana.genotypes(male=True) == ((0, 0), (0, 1), (1, 0), (1, 1))
    assert look_index(banana, male=True).tolist() == [0, 1, 1, 2]
    assert gametes(banana, male=True, child=Sex.FEMALE)[1] == pytest.approx([0.93, 0.07])
    assert gametes(banana, male=True, child=Sex.MALE)[1] == pytest.approx([0.07, 0.93])
    assert np.all(survives(banana) == 1)
    spider = catalogue(readings={"spider-two-copies": "lost"}).locus_of("Spider")
    assert survives(spider)[spider.genotypes().index((1, 1))] == 0
