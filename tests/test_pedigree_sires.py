"""Odds on sires against exact worked cases."""

from __future__ import annotations

from datetime import date

import pytest

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.pedigree.sires import PaternitySettings, sires
from tests.pedigree_colonies import CATALOGUE, colony

PAIR = (("D", "F", "Normal"), ("S1", "M", "Normal"), ("S2", "M", "Pastel"))


def clutch(looks: list[str], candidates: str):
    return [(f"k{i}", "", look, candidates, "D", "C") for i, look in enumerate(looks)]


def odds(lines, settings=None):
    return sires(colony(*lines), CATALOGUE, settings=settings)[0]


@pytest.mark.parametrize(("eggs", "first"), [(6, 64 / 65), (8, 256 / 257)])
def test_none_shows_the_second_males_gene(eggs: int, first: float) -> None:
    """Dam normal, one candidate normal, the other one copy of a visible gene, one sire for all (computed)."""
    found = odds([*PAIR, *clutch(["Normal"] * eggs, "S1|S2")])
    assert found.sires == pytest.approx({"S1": first, "S2": 1 - first}, abs=1e-12)


def test_one_shows_it() -> None:
    """Then he is the sire."""
    assert odds([*PAIR, *clutch(["Normal"] * 5 + ["Pastel"], "S1|S2")]).sires["S2"] == 1


def test_each_egg_by_itself() -> None:
    """When each egg may have either sire, one without the gene is the second male's with 1/3 (computed)."""
    found = odds([*PAIR, *clutch(["Normal"] * 6, "S1|S2")], PaternitySettings(per_egg=True))
    assert found.eggs["k0"] == pytest.approx({"S1": 2 / 3, "S2": 1 / 3}, abs=1e-12)


TRIO = (("D", "F", "het Clown"), ("A", "M", "Clown"), ("B", "M", "66% het Clown"), ("N", "M", "Normal"))


@pytest.mark.parametrize(
    ("visual", "normal", "a", "b"),
    [(1, 0, 3 / 4, 1 / 4), (1, 5, 32 / 113, 81 / 113), (0, 6, 96 / 9017, 2777 / 9017),
     (2, 4, 32 / 59, 27 / 59),
     (3, 3, 32 / 41, 9 / 41)],
)  # fmt: skip
def test_three_candidates(visual: int, normal: int, a: float, b: float) -> None:
    """Dam 100 % het; a visual, a 66 % het and a normal male at even odds (computed)."""
    found = odds([*TRIO, *clutch(["Clown"] * visual + ["Normal"] * normal, "A|B|N")])
    assert [found.sires["A"], found.sires["B"]] == pytest.approx([a, b], abs=1e-12)


def test_two_sires_when_one_cannot_be() -> None:
    """A clutch that shows both males' genes, apart, has two sires; each egg goes to whose gene it shows."""
    lines = [("D", "F", "Normal"), ("S1", "M", "Mojave"), ("S2", "M", "Pastel")]
    found = odds([*lines, *clutch(["Pastel", "Mojave", "Normal"], "S1|S2")])
    assert found.two_sires == pytest.approx(1)
    assert (found.eggs["k0"]["S2"], found.eggs["k1"]["S1"], found.eggs["k2"]["S1"]) == pytest.approx(
        (1, 1, 0.5)
    )


def _logged(*entries: tuple[str, str, Kind]) -> Colony:
    """A dam, two males, and a clutch of 2025-07-01 without a recorded sire."""
    hatched = date(2025, 7, 1)
    animals = [Animal("D", Sex.FEMALE, genes="Normal"), Animal("S1", Sex.MALE, genes="Normal"),
               Animal("S2", Sex.MALE, genes="Normal")]  # fmt: skip
    animals += [Animal(f"k{i}", Sex.FEMALE, hatched, genes="Normal", dam="D", clutch="C") for i in range(3)]
    animals = [
        Animal(a.tag, a.sex, "", hatched if a.dam else None, a.genes, (), a.dam, a.clutch) for a in animals
    ]
    seen = [
        Entry(f"e{i}", date.fromisoformat(day), None, "D", kind, None, male)
        for i, (day, male, kind) in enumerate(entries)
    ]
    return Colony.of(animals, seen)


def test_who_sat_with_her() -> None:
    """A lock inside the window outweighs a stay; last season's male keeps a small share, no sire a smaller
    one."""
    mine = _logged(("2025-02-20", "S1", Kind.LOCK), ("2024-02-01", "S2", Kind.LOCK))
    found = sires(mine, CATALOGUE)[0]
    late, none = biology.EARLIER_SIRES.value, biology.NO_SIRE.value
    assert found.sires["S2"] == pytest.approx(late, abs=1e-9)
    assert found.no_sire == pytest.approx(none, abs=1e-9)
    assert sum(found.sires.values()) + found.no_sire == pytest.approx(1)


def test_an_early_lock_counts_less() -> None:
    """Locks fade with the days before ovulation (our choice); two males make two sires possible."""
    mine = _logged(("2025-02-20", "S1", Kind.LOCK), ("2024-11-10", "S2", Kind.LOCK))
    found = sires(mine, CATALOGUE)[0]
    assert found.sires["S1"] > 0.6 > found.sires["S2"] > 0.05
    assert found.two_sires == pytest.approx(biology.TWO_SIRES.value, abs=0.01)


def test_no_male_at_all() -> None:
    """Without any male on record nobody is named."""
    assert sires(_logged(), CATALOGUE)[0].sires == {}
