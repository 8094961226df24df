"""One copy of the colony in each process, brought up to date before every answer.

Entries and voidings are only ever added, so a count and the last number tell what is new; only the animals
and places they speak of are read again. What is arranged (animals, wishes, incubators) may change in any way
and is small, so its rows are read each time and compared. All of it is read in one transaction: no answer
mixes two states of the store. Other processes write as they like and need tell nothing.

SQLite gives entries their numbers in the order of commit. PostgreSQL does not: a lower number may come to
light after a higher one. So the copy holds a floor, below which no entry can still come, and the numbers it
has seen above; the floor rises once all who were writing when it was looked at have ended (`in_flight`).

Memory: about 0.6 kB an entry.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from threading import Lock
from types import MappingProxyType
from typing import Any

from django.db import connection

from eggtooth.engine.colony import Colony, Incubator, Wish
from eggtooth.records import in_flight, loading, store
from eggtooth.records.in_flight import Floor, Mark

MANY = 100_000
NOTHING: tuple[int, Any] = (0, None)
MOST_AT_ONCE = 400
"""More animals than this with something new (a sheet brought in): everything is read again."""


@dataclass(frozen=True, slots=True)
class Copy:
    """The colony of a store, how far it was read (`last`: number and id of the highest entry, `seen`: the
    numbers above the floor), and what was arranged then."""

    store: str
    last: tuple[int, Any]
    floor: Floor
    seen: frozenset[int] | None
    voided: frozenset[int]
    arranged: loading.Arranged
    colony: Colony


_kept: Copy | None = None
_one_at_a_time = Lock()


def colony() -> Colony:
    """The whole colony as it is now: the very same object for as long as nothing changes.

    After a change, what was noted of every other animal is the same object still. Inside a transaction what
    it has written already is seen too, and kept from everybody else.
    """
    global _kept
    if connection.in_atomic_block:
        return _within_a_transaction().colony
    with _one_at_a_time:
        mark = in_flight.look()  # before the moment that is read: what had ended then is seen in it
        with _one_state():
            now = _brought_up_to_date(_kept)
            _kept = _with_floor_raised(now, mark)
        return _kept.colony


def _within_a_transaction() -> Copy:
    """What this transaction sees, kept from everybody else.

    On PostgreSQL each of its questions may see what others have just kept, so nothing is put together from
    two of them.
    """
    if connection.vendor == "postgresql":
        return _from_nothing(_name())
    return _brought_up_to_date(_kept)


def forget() -> None:
    """Drop the copy, as in a new process."""
    global _kept
    _kept = None


@contextmanager
def _one_state() -> Iterator[None]:
    """A transaction that only reads; on SQLite the framework's own would keep others from writing."""
    if connection.vendor == "postgresql":
        with store.one_moment():
            yield
        return
    with connection.cursor() as cursor:
        cursor.execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            cursor.execute("COMMIT")


def _name() -> str:
    """What tells one store from another."""
    return "|".join(str(connection.settings_dict[part]) for part in ("HOST", "PORT", "NAME"))


def _brought_up_to_date(kept: Copy | None) -> Copy:
    name = _name()
    if kept is None or kept.seen is None or kept.store != name:
        return _from_nothing(name)
    found, arranged = loading.how_far(kept.last[0], kept.floor.number), loading.arranged()
    if not _goes_on(kept, found, arranged):
        return _from_nothing(name)
    new = found.numbers - kept.seen
    same_log = not new and found.voided == len(kept.voided)
    now = kept if same_log else _with_the_news(kept, found, new, arranged)
    if now is None:
        return _from_nothing(name)
    return now if arranged == kept.arranged else _rearranged(now, arranged)


def _goes_on(kept: Copy, found: loading.Far, arranged: loading.Arranged) -> bool:
    """Whether this is the store that was read, gone on: the last entry is there, no tag is another's."""
    same = arranged.animals == kept.arranged.animals
    return found.before == kept.last[1] and (same or kept.arranged.tags().items() <= arranged.tags().items())


def _with_floor_raised(kept: Copy, mark: Mark) -> Copy:
    """The copy with its floor as high as it may be now; the very same one when it stays."""
    floor = kept.floor.raised(mark) if connection.vendor == "postgresql" else Floor(kept.last[0])
    if floor == kept.floor and kept.seen is not None:
        return kept
    numbers = loading.numbers_above(floor.number) if kept.seen is None else kept.seen
    return replace(kept, floor=floor, seen=frozenset(n for n in numbers if n > floor.number))


def _from_nothing(name: str) -> Copy:
    """Everything read anew. Linear in the entries."""
    last, voided, entries = loading.last(), loading.voided_numbers(), loading.entries()
    arranged = loading.arranged()  # after the entries: animals are never taken away, so all named are there
    built = Colony.of(
        loading.animals(arranged),
        entries,
        (Wish(*row) for row in arranged.wishes),
        (Incubator(*row) for row in arranged.incubators),
    )
    if last[0] > MANY:
        gc.freeze()  # millions of values that stay: the collector need not look at them again
    return Copy(name, last, Floor(), None, voided, arranged, built)


def _with_the_news(
    kept: Copy, found: loading.Far, new: frozenset[int], arranged: loading.Arranged
) -> Copy | None:
    """Whoever something new is said of is read again; `None` when that is half the house."""
    voided = kept.voided if found.voided == len(kept.voided) else loading.voided_numbers()
    numbers, places = loading.spoken_of(new, kept.floor.number, sorted(voided ^ kept.voided))
    if len(numbers) > MOST_AT_ONCE:
        return None
    tags = arranged.tags()
    about = {tags[n] for n in numbers} | places
    colony = kept.colony.told_again(about, loading.entries_about(numbers, places))
    return replace(kept, last=found.last, seen=(kept.seen or frozenset()) | new, voided=voided, colony=colony)


def _rearranged(kept: Copy, arranged: loading.Arranged) -> Copy:
    """The same with other animals, wishes or incubators; an animal that did not change is the same object."""
    before, now = kept.colony.animals, loading.animals(arranged)
    animals = {a.tag: before[a.tag] if before.get(a.tag) == a else a for a in now}
    colony = replace(
        kept.colony,
        animals=MappingProxyType(animals),
        wishes=tuple(Wish(*row) for row in arranged.wishes),
        incubators=MappingProxyType({row[0]: Incubator(*row) for row in arranged.incubators}),
    )
    return replace(kept, arranged=arranged, colony=colony)
