"""Which males were with a dam before a clutch, and what that says of its sire."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from eggtooth.engine.colony import Animal, Colony
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.pedigree.skeleton import clutch_key

SEASON = timedelta(days=270)
EARLIER = timedelta(days=3 * 365)


@dataclass(frozen=True)
class Company:
    """Prior odds on the sire of one clutch, before any hatchling is looked at.

    `sires` by tag and `none` sum to 1; `recorded`: the keeper named the candidates, so nobody else is
    considered;
    `several`: at least two males were with her in the season.
    """

    key: tuple[str, ...]
    dam: str
    eggs: tuple[str, ...]
    sires: Mapping[str, float]
    none: float
    recorded: bool
    several: bool


def companies(colony: Colony) -> list[Company]:
    """Prior odds for every clutch of a known dam, in the order of the animals. Cost: linear in the dams'
    entries."""
    clutches: dict[tuple[str, ...], list[Animal]] = {}
    for animal in colony.animals.values():
        if animal.dam in colony.animals:
            clutches.setdefault(clutch_key(animal), []).append(animal)
    return [company(colony, key, eggs) for key, eggs in clutches.items()]


def company(colony: Colony, key: tuple[str, ...], eggs: Iterable[Animal]) -> Company:
    """Prior odds for one clutch: the recorded candidates weighed by the log, else whoever the log says was
    with her."""
    animals = list(eggs)
    dam = animals[0].dam
    now, before = _with_her(colony, dam, ovulation(colony, animals))
    tags = tuple(a.tag for a in animals)
    named = list(dict.fromkeys(s for a in animals for s in a.sires if s in colony.animals))
    if named:
        known = {s: now.get(s, 0.0) for s in named}
        weights = known if all(known.values()) else dict.fromkeys(named, 1.0)
        return Company(key, dam, tags, _shares(weights, 1.0), 0.0, True, len(named) > 1)
    if not now and not before:
        return Company(key, dam, tags, {}, 0.0, False, False)
    none = biology.NO_SIRE.value if now else biology.NO_SIRE_WITHOUT_MALE.value
    earlier = {m: w for m, w in before.items() if m not in now}
    late = (biology.EARLIER_SIRES.value if now else 1 - none) if earlier else 0.0
    odds = {**_shares(now, 1 - none - late), **_shares(earlier, late)}
    return Company(key, dam, tags, odds, none, False, len(now) > 1)


def ovulation(colony: Colony, eggs: list[Animal]) -> date | None:
    """When the dam ovulated: seen, else counted back from laying or hatching; None without any date."""
    dam = eggs[0].dam
    hatched = next((a.hatched for a in eggs if a.hatched), None)
    if hatched is None:
        return None
    seen = [e for e in colony.of_animal(dam) if hatched - timedelta(days=200) <= e.on <= hatched]
    for kind, back in ((Kind.OVULATION, 0.0), (Kind.LAID, biology.OVULATION_TO_LAID.value)):
        found = [e.on for e in seen if e.kind is kind]
        if found:
            return found[-1] - timedelta(days=back)
    return hatched - timedelta(days=biology.INCUBATION_AT_31_5.value + biology.OVULATION_TO_LAID.value)


def _with_her(colony: Colony, dam: str, ovulated: date | None) -> tuple[dict[str, float], dict[str, float]]:
    """Weight of each male of the season, and of earlier seasons."""
    now: dict[str, float] = {}
    before: dict[str, float] = {}
    for entry in colony.of_animal(dam):
        male = entry.partner
        if male not in colony.animals or entry.kind not in (Kind.LOCK, Kind.PAIRED):
            continue
        if ovulated is None or ovulated - SEASON <= entry.on <= ovulated + timedelta(days=2):
            now[male] = now.get(male, 0.0) + _locks(entry, ovulated)
        elif ovulated - EARLIER <= entry.on < ovulated - SEASON:
            before[male] = before.get(male, 0.0) + (1.0 if entry.kind is Kind.LOCK else 0.15)
    fertile = biology.FERTILE_PER_LOCK.value
    return (
        {m: 1 - (1 - fertile) ** locks for m, locks in now.items() if locks > 0},
        {m: 1 - (1 - fertile) ** locks for m, locks in before.items() if locks > 0},
    )


def _locks(entry: Entry, ovulated: date | None) -> float:
    """How many good locks a sighting is worth."""
    whole = 1.0 if entry.kind is Kind.LOCK else biology.NIGHT_AS_LOCK.value
    if ovulated is None:
        return whole
    ahead = (ovulated - entry.on).days
    full, gone = biology.LOCK_WINDOW.value, biology.LOCK_FADES.value
    return whole * min(1.0, max(0.0, (gone - ahead) / (gone - full)))


def _shares(weights: Mapping[str, float], whole: float) -> dict[str, float]:
    total = sum(weights.values())
    return {tag: whole * w / total for tag, w in weights.items()} if total > 0 else {}
