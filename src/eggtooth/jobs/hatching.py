"""A hatched clutch to be entered one by one: how many, whose, and what they may look like."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
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


def hatched_clutches(colony: Colony, on: date, settings: Settings) -> list[HatchedClutch]:
    """The clutches of the last year, latest first."""
    found = [
        _clutch(colony, tag, entry, on, settings)
        for tag, animal in colony.animals.items()
        if animal.sex is Sex.FEMALE
        for entry in History(colony.of_animal(tag), on).all(Kind.HATCHED, on - LOOKED_BACK)
        if entry.value
    ]
    return sorted(found, key=lambda c: (-c.hatched.on.toordinal(), c.dam))


def _clutch(colony: Colony, dam: str, hatched: Entry, on: date, settings: Settings) -> HatchedClutch:
    entered = tuple(
        a.tag
        for a in colony.animals.values()
        if a.dam == dam and a.hatched and abs(a.hatched - hatched.on) <= SAME_CLUTCH
    )
    return HatchedClutch(
        dam, hatched, entered, _males_with(History(colony.of_animal(dam), on), hatched.on, settings)
    )


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
