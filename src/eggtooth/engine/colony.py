"""The one value everything reads: the animals, their dated entries, the wishes and the incubators."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from enum import StrEnum
from operator import itemgetter
from types import MappingProxyType
from typing import NamedTuple

from eggtooth.engine.entries import LEFT, WITH_PARTNER, Entry, Kind


class Sex(StrEnum):
    """Recorded sex."""

    MALE = "M"
    FEMALE = "F"
    UNKNOWN = ""


class State(StrEnum):
    """Where an animal is, as recorded in `animals.csv`."""

    HERE = "here"
    SOLD = "sold"
    DEAD = "dead"
    LOAN = "loan"


class Tub(NamedTuple):
    """A place in the room; tuples sort in walking order (rack, then row, then place)."""

    rack: str
    row: int
    place: int

    def __str__(self) -> str:
        """`rack-row-place`, as in the files."""
        return f"{self.rack}-{self.row}-{self.place}"


@dataclass(frozen=True, slots=True)
class Animal:
    """One animal as recorded. `genes` is the text as typed; empty means the look was not noted.

    `sires` lists every candidate sire; more than one means it is not known which.
    """

    tag: str
    sex: Sex = Sex.UNKNOWN
    name: str = ""
    hatched: date | None = None
    genes: str = ""
    sires: tuple[str, ...] = ()
    dam: str = ""
    clutch: str = ""
    tub: Tub | None = None
    state: State = State.HERE
    note: str = ""

    def age_days(self, on: date) -> int | None:
        """Age on a day, or None when the hatch date is not known."""
        return None if self.hatched is None else (on - self.hatched).days


@dataclass(frozen=True, slots=True)
class Wish:
    """What the breeder wants to see hatch: the look in trade notation, its weight and how many."""

    text: str
    weight: float = 1.0
    count: int = 1


@dataclass(frozen=True, slots=True)
class Incubator:
    """A box with places for clutches and the temperature it is set to."""

    tag: str
    places: int
    target_c: float


TURNS = LEFT | {Kind.MOVED}
NO_ENTRIES: tuple[Entry, ...] = ()


@dataclass(frozen=True, slots=True)
class Colony:
    """Animals by tag and entries by tag in order of time; pairing entries stand under both animals."""

    animals: Mapping[str, Animal]
    entries: Mapping[str, tuple[Entry, ...]] = field(default_factory=dict)
    wishes: tuple[Wish, ...] = ()
    incubators: Mapping[str, Incubator] = field(default_factory=dict)
    turns: Mapping[str, tuple[Entry, ...]] = field(default_factory=dict)
    """Per animal its entries that change where it is (moved, died, sold, given), oldest first."""

    @classmethod
    def of(
        cls,
        animals: Iterable[Animal],
        entries: Iterable[Entry] = (),
        wishes: Iterable[Wish] = (),
        incubators: Iterable[Incubator] = (),
    ) -> Colony:
        """Build a colony from loose values, whatever their order. Cost: n log n in the entries."""
        by_tag: defaultdict[str, list[Entry]] = defaultdict(list)
        turning: set[str] = set()
        make, paired, special = tuple.__new__, WITH_PARTNER, WITH_PARTNER | TURNS
        for entry in entries:  # the hottest loop of all: one pass over the whole log
            key, on, at, tag, kind, value, detail, by, note = entry
            by_tag[tag].append(entry)
            if kind in special:
                if kind not in paired:
                    turning.add(tag)
                elif detail.__class__ is str:
                    other = make(Entry, (key, on, at, detail, kind, value, tag, by, note))
                    by_tag[detail].append(other)
        ordered = {tag: tuple(_in_time(seen)) for tag, seen in by_tag.items()}
        turns = {tag: _turns(ordered[tag]) for tag in sorted(turning)}
        return cls(
            MappingProxyType({a.tag: a for a in animals}),
            MappingProxyType(ordered),
            tuple(wishes),
            MappingProxyType({i.tag: i for i in incubators}),
            MappingProxyType(turns),
        )

    def told_again(self, tags: Collection[str], entries: Iterable[Entry]) -> Colony:
        """The same colony, where `entries` are all that was noted of the animals and places `tags`.

        What was noted of each other stays the very same object. Cost: the entries given, a look at each tag.
        """
        told = Colony.of((), entries)
        others = {tag: seen for tag, seen in self.entries.items() if tag not in tags}
        turns = {tag: seen for tag, seen in self.turns.items() if tag not in tags}
        return replace(
            self,
            entries=MappingProxyType(others | {t: told.entries[t] for t in tags if t in told.entries}),
            turns=MappingProxyType(turns | {t: told.turns[t] for t in tags if t in told.turns}),
        )

    def of_animal(self, tag: str) -> tuple[Entry, ...]:
        """Everything noted about one animal, oldest first."""
        return self.entries.get(tag, NO_ENTRIES)

    def as_of(self, on: date) -> Colony:
        """The colony as it was known at the end of day `on`: later entries and later hatchlings left out."""
        kept = {tag: _up_to(seen, on) for tag, seen in self.entries.items()}
        born = {t: a for t, a in self.animals.items() if a.hatched is None or a.hatched <= on}
        return replace(self, animals=MappingProxyType(born), entries=MappingProxyType(kept))

    def here(self, on: date) -> Iterator[Animal]:
        """Animals in the room on a day: recorded as here, and not died, sold or given by then."""
        for animal in self.animals.values():
            if animal.state is State.HERE and not self.left_by(animal.tag, on):
                yield animal

    def left_by(self, tag: str, on: date) -> Entry | None:
        """The entry by which the animal had left the room, if any."""
        return next((e for e in self.turns.get(tag, NO_ENTRIES) if e.kind in LEFT and e.on <= on), None)

    def tub_of(self, tag: str, on: date) -> Tub | None:
        """The tub the animal sits in: its last `moved` entry, else the recorded one."""
        for entry in reversed(self.turns.get(tag, NO_ENTRIES)):
            if entry.kind is Kind.MOVED and entry.on <= on and isinstance(entry.detail, str):
                return tub_from(entry.detail)
        animal = self.animals.get(tag)
        return animal.tub if animal else None


def tub_from(text: str) -> Tub:
    """Read `rack-row-place`; the rack may itself hold hyphens. Raises `ValueError` on anything else."""
    rack, row, place = text.strip().rsplit("-", 2)
    if not rack or int(row) < 0 or int(place) < 0:
        raise ValueError(f"{text!r} is not rack-row-place")
    return Tub(rack, int(row), int(place))


def mirrored(entry: Entry) -> Entry:
    """A pairing entry as seen from the other animal; same id, since it is the same sighting."""
    key, on, at, tag, kind, value, detail, by, note = entry
    return Entry(key, on, at, str(detail), kind, value, tag, by, note)


def _turns(seen: tuple[Entry, ...]) -> tuple[Entry, ...]:
    return tuple([e for e in seen if e.kind in TURNS])


_day = itemgetter(Entry._fields.index("on"))
_at = itemgetter(Entry._fields.index("at"))


def _in_time(seen: list[Entry]) -> list[Entry]:
    """By day; within a day what has no time comes first, then by the clock. Plain keys: logs are long."""
    timed = [e for e in seen if e.at is not None]
    if timed:
        _sort_by_clock(timed)
        seen = [e for e in seen if e.at is None] + timed
    return sorted(seen, key=_day)


def _sort_by_clock(timed: list[Entry]) -> None:
    try:
        timed.sort(key=_at)
    except TypeError:  # some moments name their time zone and some do not: by the clock on the wall
        timed.sort(key=lambda e: e.at.replace(tzinfo=None) if e.at else datetime.min)


def _up_to(seen: tuple[Entry, ...], on: date) -> tuple[Entry, ...]:
    if not seen or seen[-1].on <= on:
        return seen
    return tuple(e for e in seen if e.on <= on)
