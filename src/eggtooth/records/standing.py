"""One copy of the colony in each process, brought up to date before every answer.

Entries and voidings are only ever added, so a count and the last number tell what is new; only the animals
and places they speak of are read again. What is arranged (animals, wishes, incubators) may change in any way
and is small, so its rows are read each time and compared. All of it is read in one transaction: no answer
mixes two states of the store. Other processes write as they like and need tell nothing.

Memory: about 0.6 kB an entry. SQLite gives numbers in the order of commit, which this rests on; PostgreSQL
does not, so there everything is read each time.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace
from threading import Lock
from types import MappingProxyType
from typing import Any

from django.db import connection

from eggtooth.engine.colony import Colony, Incubator, Wish
from eggtooth.records import loading, store

MANY = 100_000
NOTHING: tuple[int, Any] = (0, None)
MOST_AT_ONCE = 400
"""More animals than this with something new (a sheet brought in): everything is read again."""


@dataclass(frozen=True, slots=True)
class Copy:
    """The colony of a store, how far it was read, and what was arranged then."""

    store: str
    last: tuple[int, Any]
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
    if connection.vendor != "sqlite":
        with nullcontext() if connection.in_atomic_block else store.one_moment():
            return _from_nothing(str(connection.settings_dict["NAME"])).colony
    if connection.in_atomic_block:
        return _brought_up_to_date(_kept).colony
    with _one_at_a_time, _one_state():
        _kept = _brought_up_to_date(_kept)
        return _kept.colony


def forget() -> None:
    """Drop the copy, as in a new process."""
    global _kept
    _kept = None


@contextmanager
def _one_state() -> Iterator[None]:
    """A transaction that only reads; the framework's own would keep others from writing."""
    with connection.cursor() as cursor:
        cursor.execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            cursor.execute("COMMIT")


def _brought_up_to_date(kept: Copy | None) -> Copy:
    name = str(connection.settings_dict["NAME"])
    if kept is None or kept.store != name:
        return _from_nothing(name)
    rows, arranged = loading.how_far(kept.last[0]), loading.arranged()
    if not _goes_on(kept, rows, arranged):
        return _from_nothing(name)
    same_log = not rows or (rows[-1][:2] == kept.last and rows[-1][2] == len(kept.voided))
    now = kept if same_log else _with_the_news(kept, rows, arranged)
    if now is None:
        return _from_nothing(name)
    return now if arranged == kept.arranged else _rearranged(now, arranged)


def _goes_on(kept: Copy, rows: list[tuple[Any, ...]], arranged: loading.Arranged) -> bool:
    """Whether this is the store that was read, gone on: the last entry is there, no tag is another's."""
    there = not kept.last[0] or (bool(rows) and rows[0][:2] == kept.last)
    same = arranged.animals == kept.arranged.animals
    return there and (same or kept.arranged.tags().items() <= arranged.tags().items())


def _from_nothing(name: str) -> Copy:
    """Everything read anew. Linear in the entries."""
    rows, voided, entries = loading.how_far(0), loading.voided_numbers(), loading.entries()
    arranged = loading.arranged()  # after the entries: animals are never taken away, so all named are there
    built = Colony.of(
        loading.animals(arranged),
        entries,
        (Wish(*row) for row in arranged.wishes),
        (Incubator(*row) for row in arranged.incubators),
    )
    last = rows[-1][:2] if rows else NOTHING
    if last[0] > MANY:
        gc.freeze()  # millions of values that stay: the collector need not look at them again
    return Copy(name, last, voided, arranged, built)


def _with_the_news(kept: Copy, rows: list[tuple[Any, ...]], arranged: loading.Arranged) -> Copy | None:
    """Whoever something new is said of is read again; `None` when that is half the house."""
    voided = kept.voided if rows[-1][2] == len(kept.voided) else loading.voided_numbers()
    numbers, places = loading.spoken_of(kept.last[0], sorted(voided ^ kept.voided))
    if len(numbers) > MOST_AT_ONCE:
        return None
    tags = arranged.tags()
    about = {tags[n] for n in numbers} | places
    colony = kept.colony.told_again(about, loading.entries_about(numbers, places))
    return replace(kept, last=rows[-1][:2], voided=voided, colony=colony)


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
