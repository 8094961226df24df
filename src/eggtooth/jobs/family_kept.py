"""Who carries what, worked out again only when something that bears on it changed.

Of the log only pairings, the dates of clutches and tests bear on it; a meal or a weight leaves the answer as
it was. What did change is added to the answer before (`carriers`, `before`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from threading import RLock
from typing import NamedTuple

from eggtooth.engine.colony import Animal, Colony
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.pedigree.carriers import Carriers, carriers
from eggtooth.engine.pedigree.evidence import Rates
from eggtooth.engine.pedigree.sires import sire_odds

TELLING = frozenset({Kind.PAIRED, Kind.LOCK, Kind.OVULATION, Kind.LAID, Kind.TEST})
"""Kinds of entry that `carriers` and `sire_odds` read."""
MOST = 2

Seen = tuple[Entry, ...]


class _Answer(NamedTuple):
    """An answer and the colony it is of; the animals and, by tag, the entries it was worked out from: all of
    them and the telling."""

    colony: Colony
    animals: Mapping[str, Animal]
    noted: Mapping[str, tuple[Seen, Seen]]
    carriers: Carriers


_known: dict[date, _Answer] = {}
_one_at_a_time = RLock()


def known_now(colony: Colony, on: date) -> Carriers:
    """Posterior genotypes by the usual rates, as known at the end of a day."""
    with _one_at_a_time:
        before = _known.pop(on, None)
        _known[on] = found = before if before and before.colony is colony else _answer(colony, on, before)
        while len(_known) > MOST:
            _known.pop(next(iter(_known)))
        return found.carriers


def _answer(colony: Colony, on: date, before: _Answer | None) -> _Answer:
    noted = _noted(colony, before.noted if before else {})
    return _Answer(colony, colony.animals, noted, _carriers(colony, on, noted, before))


def _carriers(
    colony: Colony, on: date, noted: Mapping[str, tuple[Seen, Seen]], before: _Answer | None
) -> Carriers:
    known = colony.as_of(on)
    if before and before.animals is colony.animals and _telling(before.noted) == _telling(noted):
        # What reads the answer also asks it who is in the room, so the colony in it must be today's.
        old = before.carriers
        return replace(old, evidence=old.evidence.within(known))
    return carriers(known, standard(), Rates(), sire_odds(known), before=before.carriers if before else None)


def _noted(colony: Colony, before: Mapping[str, tuple[Seen, Seen]]) -> dict[str, tuple[Seen, Seen]]:
    """All entries and the telling ones by tag; those of an animal with nothing new are the same objects."""
    found = {}
    for tag, seen in colony.entries.items():
        old = before.get(tag)
        same = old is not None and old[0] is seen
        found[tag] = old if same and old else (seen, tuple(e for e in seen if e.kind in TELLING))
    return found


def _telling(noted: Mapping[str, tuple[Seen, Seen]]) -> dict[str, Seen]:
    return {tag: telling for tag, (_, telling) in noted.items() if telling}


def forget() -> None:
    """Drop all of it, as in a new process."""
    _known.clear()
