"""How to settle whether an animal carries a gene: the test crosses that may be made here, or a laboratory."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.condition.readiness import in_quarantine, not_ready
from eggtooth.engine.condition.weights import mass_on
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.pedigree.carriers import Carriers
from eggtooth.engine.pedigree.laboratory import LabErrors, LabWorth, lab_worth
from eggtooth.engine.pedigree.why import chance
from eggtooth.engine.pedigree.worth import TestCross, test_crosses
from eggtooth.engine.planning.pairs import Pairs
from eggtooth.engine.wording import say

MOST_MATES = 6
LEAST = 1e-9
"""A mate that settles less than this share settles nothing."""


@dataclass(frozen=True, slots=True)
class Barred:
    """A mate that would settle it better than some that may, and why not."""

    cross: TestCross
    why: str


@dataclass(frozen=True, slots=True)
class Proving:
    """One question of one animal. `chance`: that it carries; `crosses`: mates that may, the best first;
    `barred`: mates as good that may not; `yet`: why the animal itself cannot be bred now, or empty;
    `look_first`: its look is not noted and may show it, so that looking comes before any breeding."""

    locus: str
    chance: float
    crosses: tuple[TestCross, ...]
    barred: tuple[Barred, ...]
    laboratory: LabWorth
    yet: str
    look_first: bool


def proving(
    found: Carriers, tag: str, locus: str, on: date, settings: Settings, eggs: int, errors: LabErrors
) -> Proving:
    """Rank the mates in the room by how much a clutch of `eggs` settles; the best few that may and that may
    not.

    A mate may when it is out of quarantine, grown enough, within the kinship limit, and the young would not
    suffer. `KeyError` for a locus nobody carries anything at. Cost: see `test_crosses`.
    """
    room = _Room(found.evidence.colony, on, settings)
    may: list[TestCross] = []
    barred: list[Barred] = []
    for cross in _ranked(found, tag, locus, room, eggs):
        why = room.against(tag, cross.mate)
        if why:
            barred += [Barred(cross, why)] if len(barred) < MOST_MATES else []
        else:
            may.append(cross)
        if len(may) == MOST_MATES:
            break
    carries = chance(found, tag, locus)
    laboratory = lab_worth(carries, errors)
    return Proving(
        locus,
        carries,
        tuple(may),
        tuple(barred),
        laboratory,
        room.not_yet(tag),
        look_first(found, tag, locus),
    )


def look_first(found: Carriers, tag: str, locus: str) -> bool:
    """Whether an animal's look, not noted so far, may tell something of a locus."""
    model = found.loci[locus].model
    looks = {model.locus.look(g) for g in found.odds(tag, locus)}
    return not found.evidence.statements[tag].noted and len(looks) > 1


def _ranked(found: Carriers, tag: str, locus: str, room: _Room, eggs: int) -> Iterator[TestCross]:
    """Mates of a noted sex in the room that can settle anything; none where sexes decide and its own is not
    noted."""
    linked = found.loci[locus].model.segregation.sex_linked
    if linked and found.evidence.colony.animals[tag].sex is Sex.UNKNOWN:
        return
    mates = [a.tag for a in room.here.values() if a.sex is not Sex.UNKNOWN]
    for cross in test_crosses(found, tag, locus, mates, eggs):
        if cross.settles > LEAST:
            yield cross


class _Room:
    """The animals here on a day, each judged when asked."""

    def __init__(self, colony: Colony, on: date, settings: Settings) -> None:
        self.colony, self.on, self.settings = colony, on, settings
        self.here = {a.tag: a for a in colony.here(on)}
        self.pairs = Pairs(colony, settings)

    def not_yet(self, tag: str) -> str:
        """Why an animal cannot be bred now: gone, in quarantine, too young or too light."""
        animal = self.here.get(tag)
        if animal is None:
            return say("no longer here")
        seen = History(self.colony.of_animal(tag), self.on)
        kept = in_quarantine(animal, self.colony.tub_of(tag, self.on), seen, self.settings)
        return kept or not_ready(animal, seen, mass_on(seen), self.settings)

    def against(self, tag: str, mate: str) -> str:
        """Why a mate is not put to an animal, or an empty text."""
        male, female = self._sexes(self.colony.animals[tag], self.colony.animals[mate])
        return self.not_yet(mate) or self.pairs.against(male, female)

    def _sexes(self, one: Animal, other: Animal) -> tuple[Animal, Animal]:
        return (other, one) if other.sex is Sex.MALE else (one, other)
