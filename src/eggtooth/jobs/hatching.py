"""A hatched clutch to be entered one by one: how many, whose, and what they may look like."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.jobs.cross import Asked, UnfitPair, answer
from eggtooth.jobs.family_odds import family_odds

SAME_CLUTCH = timedelta(days=14)
LOOKED_BACK = timedelta(days=365)
LOOKS = 40


@dataclass(frozen=True, slots=True)
class HatchedClutch:
    """A clutch that hatched: the dam, the entry that says so, who is entered and who may be the sire."""

    dam: str
    hatched: Entry
    entered: tuple[str, ...]
    sires: tuple[str, ...]

    @property
    def missing(self) -> int:
        """Hatchlings without a tag yet."""
        return max(0, int(self.hatched.value or 0) - len(self.entered))


def hatched_clutches(
    colony: Colony, on: date, settings: Settings, kept: Kept | None = None
) -> list[HatchedClutch]:
    """The clutches of the last year, latest first; `kept` as for `round_for`."""
    young = defaultdict[str, list[Animal]](list)
    for animal in colony.animals.values():
        young[animal.dam].append(animal)
    dams = {
        t: (colony.animals, colony.of_animal(t)) for t, a in colony.animals.items() if a.sex is Sex.FEMALE
    }

    def of_dams(tags: list[str]) -> list[list[HatchedClutch]]:
        return [_of_dam(colony, tag, young[tag], on, settings) for tag in tags]

    found = [clutch for clutches in (kept or Kept()).each("hatched", dams, of_dams) for clutch in clutches]
    return sorted(found, key=lambda c: (-c.hatched.on.toordinal(), c.dam))


def _of_dam(
    colony: Colony, dam: str, young: list[Animal], on: date, settings: Settings
) -> list[HatchedClutch]:
    """Her clutches of the last year."""
    noted = colony.of_animal(dam)
    if not any(e.kind is Kind.HATCHED and on - LOOKED_BACK <= e.on <= on and e.value for e in noted):
        return []
    seen = History(noted, on)
    found = [e for e in seen.all(Kind.HATCHED, on - LOOKED_BACK) if e.value]
    return [HatchedClutch(dam, e, _entered(young, e), _males_with(seen, e.on, settings)) for e in found]


def _entered(young: list[Animal], hatched: Entry) -> tuple[str, ...]:
    near = (a for a in young if a.hatched and abs(a.hatched - hatched.on) <= SAME_CLUTCH)
    return tuple(a.tag for a in near)


def _males_with(seen: History, hatched: date, settings: Settings) -> tuple[str, ...]:
    """The males that sat with her in the season before, those most often seen locked first."""
    laid = seen.last(Kind.LAID)
    until = laid.on if laid and laid.on < hatched else hatched
    since = settings.season_start(until)
    kinds = (Kind.PAIRED, Kind.LOCK)
    met = [e for kind in kinds for e in seen.all(kind, since) if e.on <= until and e.partner]
    locks = Counter(e.partner for e in met if e.kind is Kind.LOCK)
    return tuple(sorted({e.partner for e in met}, key=lambda tag: (-locks[tag], tag)))


def looks_expected(colony: Colony, clutch: HatchedClutch, on: date) -> list[tuple[str, float]]:
    """Looks the clutch may show, likeliest first, with their mean chance over the males that sat with her."""
    genotypes_of, total = family_odds(colony, on, standard()), defaultdict[str, float](float)
    sires = [s for s in clutch.sires if s in colony.animals]
    for sire in sires:
        try:
            found = answer(Asked(sire, clutch.dam, best=LOOKS), colony, genotypes_of)
        except UnfitPair:
            continue
        for row in found.rows:
            total[" ".join(row.outcome.looks) or "Normal"] += float(row.hope.p) / len(sires)
    return sorted(total.items(), key=lambda pair: (-pair[1], pair[0]))[:LOOKS]


def free_tags(colony: Colony, hatched: date, wanted: int) -> Iterator[str]:
    """Tags nobody has: H, the year, and the next numbers of that year."""
    start = f"H{hatched:%y}-"
    used = [_number(t.removeprefix(start)) for t in colony.animals if t.startswith(start)]
    first = max(used, default=0) + 1
    yield from (f"{start}{n:02}" for n in range(first, first + wanted))


def _number(text: str) -> int:
    return int(text) if re.fullmatch(r"[0-9]{1,6}", text) else 0
