"""The store as the jobs see it: values in, values out. Open it once; Django is loaded then, not before."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import NamedTuple
from uuid import UUID

from eggtooth.engine.colony import Animal, Colony, Incubator, Wish
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.records.place import database_address, make_key, store_path


class Voided(NamedTuple):
    """An entry taken back, by whom, when and why."""

    entry: Entry
    by: str
    when: datetime
    why: str


class Sought(NamedTuple):
    """An entry with its own history: when it was noted, and who took it back, if anybody did."""

    entry: Entry
    noted_at: datetime
    voided: Voided | None


class Setting(NamedTuple):
    """The settings from a moment on."""

    when: datetime
    by: str
    settings: Settings


class Choice(NamedTuple):
    """A choice about a pair: `says` is pin, ban, or empty for neither from then on."""

    when: datetime
    by: str
    male: str
    female: str
    says: str


class StoreFault(Exception):
    """The store cannot be opened or written; the message says what to do."""


def open_store(path: Path | None = None) -> Path:
    """Open the store at `path`, and from then on in this process; or make it. Raises `StoreFault`.

    Without a path it is the database `EGGTOOTH_DATABASE` names, else the file at `EGGTOOTH_STORE`, else one
    in the user's data folder. An older store is brought up to date. Returns the file, which names the place
    of the key and the copies also where the store is a database.
    """
    from django.db import DatabaseError

    from eggtooth.records import upkeep
    from eggtooth.records.databases import BadAddress, shown

    if path:
        os.environ.pop("EGGTOOTH_DATABASE", None)
    store, address = (path or store_path()).absolute(), database_address()
    try:
        make_key(store)
        upkeep.point_at(store, address)
        upkeep.bring_up_to_date(store)
    except BadAddress as wrong:
        raise StoreFault(f"EGGTOOTH_DATABASE: {wrong}") from wrong
    except (OSError, DatabaseError) as fault:
        told = " ".join(str(fault).split())
        raise StoreFault(f"the store at {shown(address) or store} cannot be opened: {told}") from fault
    return store


def careless() -> list[str]:
    """Settings of the store's server by which a power cut takes what was answered as kept, in words."""
    from eggtooth.records import upkeep

    return upkeep.careless()


@contextmanager
def all_or_nothing() -> Iterator[None]:
    """Everything kept inside is kept together or, when anything is raised, not at all."""
    from django.db import transaction

    from eggtooth.records import upkeep

    with upkeep.in_turn(), transaction.atomic():
        upkeep.one_at_a_time()
        yield


@contextmanager
def one_moment() -> Iterator[None]:
    """Everything read inside is the store of one moment. Nothing may be kept inside."""
    from django.db import transaction

    from eggtooth.records import upkeep

    with transaction.atomic():
        upkeep.hold_still()
        yield


def colony() -> Colony:
    """The whole colony as it is now: animals, entries that are not voided, wishes, incubators.

    The first time in a process it is read, linear in the entries; then only what changed is.
    """
    from eggtooth.records import standing

    return standing.colony()


def entries() -> list[Entry]:
    """All entries that are not voided, in the order they were noted."""
    from eggtooth.records import loading

    return loading.entries()


def entries_on(on: date) -> list[Entry]:
    """Entries of one day that are not voided, in the order they were noted."""
    from eggtooth.records import loading

    return loading.entries("e.on_day = %s", [on])


def entry(key: UUID) -> Entry | None:
    """One entry, unless there is none or it is voided."""
    from eggtooth.records import loading

    return next(iter(loading.entries("e.key = %s", [loading.key_in_database(key)])), None)


def all_by_id(keys: Iterable[str]) -> dict[str, Entry]:
    """Those of the entries that are in the store, voided or not."""
    from eggtooth.records import loading

    wanted = set(keys)
    return {e.id: e for e in loading.entries(voided=None) if e.id in wanted} if wanted else {}


def noted_at() -> dict[str, datetime]:
    """When each entry was noted, by its id."""
    from eggtooth.records import loading

    return loading.noted_at()


def voided() -> list[Voided]:
    """Entries taken back, in the order they were noted."""
    from eggtooth.records import loading

    return [Voided(*row) for row in loading.voided()]


def latest(
    tag: str = "",
    kind: Kind | None = None,
    since: date | None = None,
    until: date | None = None,
    most: int = 100,
) -> tuple[list[Sought], int]:
    """The latest entries looked for, those taken back among them, and how many there are in all."""
    from eggtooth.records import finding

    return finding.latest(tag, kind, since, until, most)


def add_entries(
    entries: Iterable[Entry],
    noted_at: Mapping[str, datetime] | None = None,
    tell: Callable[[int], None] | None = None,
) -> int:
    """Keep entries whose ids are UUIDs; returns how many are new. One that is kept already stays as it is.

    `tell` hears now and then how many have gone in. Raises `ValueError`, and keeps none, when one cannot be:
    unknown animal, missing number, wrong detail.
    """
    from eggtooth.records import keeping

    return keeping.add_entries(entries, noted_at or {}, tell)


def void(key: UUID, by: str, why: str, when: datetime | None = None) -> None:
    """Take an entry back; doing so twice changes nothing. Raises `ValueError` when there is no such entry."""
    from eggtooth.records import keeping

    keeping.void(key, by, why, when)


def save_animals(animals: Iterable[Animal]) -> None:
    """Keep animals as given, new ones and changed ones. Raises `ValueError` on an unknown parent."""
    from eggtooth.records import keeping_animals

    keeping_animals.save_animals(animals)


def save_wishes(wishes: Iterable[Wish]) -> None:
    """Keep these wishes in place of the former ones."""
    from eggtooth.records import keeping_animals

    keeping_animals.save_wishes(wishes)


def save_incubators(incubators: Iterable[Incubator]) -> None:
    """Keep incubators as given, new ones and changed ones."""
    from eggtooth.records import keeping_animals

    keeping_animals.save_incubators(incubators)


def settings() -> Settings:
    """The house's settings as they are now."""
    from eggtooth.records import house

    return house.now()


def settings_past() -> list[Setting]:
    """All settings there were, oldest first."""
    from eggtooth.records import house

    return house.past()


def save_settings(settings: Settings, by: str, when: datetime | None = None) -> None:
    """Put new settings in force; the former ones stay in `settings_past`."""
    from eggtooth.records import house

    house.save(settings, by, when)


def door_book() -> list[tuple[datetime, str, str, str, str, str]]:
    """What happened to people and their keys, oldest first: when, what, by, to, more, from where."""
    from eggtooth.records import door_book

    return [line[1:] for line in door_book.whole()]


def choices_past() -> list[Choice]:
    """All choices about pairs there were, oldest first."""
    from eggtooth.records import choices

    return choices.past()


def choices() -> dict[tuple[str, str], str]:
    """Pin or ban by (male, female), where it was not taken back."""
    return {pair: choice.says for pair, choice in choices_made().items()}


def choices_made() -> dict[tuple[str, str], Choice]:
    """The same with when each was made."""
    found = {(c.male, c.female): c for c in choices_past()}
    return {pair: choice for pair, choice in found.items() if choice.says}


def choose(male: str, female: str, says: str, by: str, when: datetime | None = None) -> None:
    """Pin or ban a pair, or (empty) take that back; the former choices stay in `choices_past`.

    Raises `ValueError` on an unknown tag.
    """
    from eggtooth.records import choices

    choices.choose(male, female, says, by, when)
