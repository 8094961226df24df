"""Which mates may prove an animal out, which may not and why."""

from __future__ import annotations

from datetime import date

import pytest

from eggtooth.engine.colony import Animal, Colony, Sex, State, Tub
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.pedigree.laboratory import LabErrors
from eggtooth.engine.planning.proving import Proving, proving
from eggtooth.jobs.family_kept import known_now
from eggtooth.jobs.proving import NotAsked, how_to_prove, to_prove

ON = date(2026, 2, 1)
BORN = date(2022, 6, 1)


def female(tag: str, genes: str, **more: object) -> Animal:
    return Animal(tag, Sex.FEMALE, **{"hatched": BORN, "genes": genes, **more})  # type: ignore[arg-type]


SON = Animal("A", Sex.MALE, "", BORN, "Pastel", ("S",), "MUM", "c1")
ROOM = (
    Animal("S", Sex.MALE, "", BORN, "Pastel het Clown"),
    female("MUM", "het Clown"),
    SON,
    female("SIB", "Clown", sires=("S",), dam="MUM", clutch="c1"),
    female("HET", "het Clown"),
    female("VIS", "Clown"),
    female("DESERT", "Clown Desert"),
    female("BABY", "Clown", hatched=date(2025, 9, 1)),
    female("LIGHT", "Clown"),
    female("NEW", "Clown", tub=Tub("Q", 1, 1)),
    female("SOLD", "Clown", state=State.SOLD),
    female("WILD", "Normal"),
)
LIGHT = Entry("w1", date(2026, 1, 20), None, "LIGHT", Kind.WEIGHT, 700.0, None)


def asked(gene: str = "Clown") -> Proving:
    found = known_now(Colony.of(ROOM, [LIGHT]), ON)
    (way,) = how_to_prove(found, "A", ON, Settings(), [gene])
    return way


def test_the_best_mate_that_may() -> None:
    """A visual of another family first, then a het; nobody that cannot show it."""
    way = asked()
    assert [c.mate for c in way.crosses] == ["VIS", "HET"]
    assert way.chance == pytest.approx(2 / 3)
    assert way.crosses[0].normals == 6


def test_why_others_may_not() -> None:
    """Too young, too light, new, kin over the limit; a Desert dam is blocked by the catalogue;
    one sold is not named."""
    why = {b.cross.mate: b.why for b in asked().barred}
    assert set(why) == {"BABY", "LIGHT", "NEW", "SIB", "DESERT", "MUM"}
    assert "months old" in why["BABY"] and "700 g" in why["LIGHT"] and "quarantine" in why["NEW"]
    assert "inbred 25%" in why["SIB"]
    assert why["DESERT"]


def test_an_animal_without_a_noted_look() -> None:
    """Looking comes before breeding where the look would tell."""
    found = known_now(Colony.of([*ROOM, female("K", "", sires=("S",), dam="MUM", clutch="c2")]), ON)
    seen = proving(found, "K", "Pastel", ON, Settings(), 6, LabErrors())
    assert seen.look_first and not asked().look_first


def test_not_yet_grown_itself() -> None:
    """The animal's own state is said."""
    young = Animal("K", Sex.MALE, "", date(2025, 12, 1), "Normal", ("S",), "MUM", "c2")
    found = known_now(Colony.of([*ROOM, young]), ON)
    assert "months old" in proving(found, "K", "Clown", ON, Settings(), 6, LabErrors()).yet


def test_sexes_decide_at_a_sex_linked_gene() -> None:
    """Without a noted sex nobody is proposed at a sex-linked gene."""
    young = Animal("K", Sex.UNKNOWN, "", BORN, "", ("B",), "HET", "c2")
    banana = Animal("B", Sex.MALE, "", BORN, "Banana")
    found = known_now(Colony.of([*ROOM, banana, young]), ON)
    assert proving(found, "K", "Banana", ON, Settings(), 6, LabErrors()).crosses == ()


def test_open_questions_of_the_room() -> None:
    """Only animals here that are in doubt; asked without a gene, all that is open."""
    found = known_now(Colony.of(ROOM, [LIGHT]), ON)
    assert to_prove(found, ON) == [("A", "Clown", pytest.approx(2 / 3), False)]
    assert to_prove(found, ON, ["desert"]) == []
    assert [w.locus for w in how_to_prove(found, "A", ON, Settings())] == ["Clown"]
    assert how_to_prove(found, "VIS", ON, Settings()) == []


@pytest.mark.parametrize(("tag", "gene", "near"), [("VISS", "Clown", "VIS"), ("A", "Clwn", "Clown")])
def test_mistyped(tag: str, gene: str, near: str) -> None:
    """The nearest known one is named."""
    with pytest.raises(NotAsked, match=f"did you mean {near}"):
        how_to_prove(known_now(Colony.of(ROOM), ON), tag, ON, Settings(), [gene])
