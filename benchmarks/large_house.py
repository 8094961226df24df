"""A store of 5,000 animals and 2,000,000 entries, built once and kept in the temp folder.

One house is lived by the simulation, then stands there twenty times under twenty letters: every animal of a
copy has its own tag, tub, parents and entries, so nothing is shared but the shape.
"""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np

from eggtooth.engine.colony import Animal, Colony, Tub, tub_from
from eggtooth.engine.entries import WITH_PARTNER, Entry, Kind
from eggtooth.engine.simulate.colony import simulate_colony
from eggtooth.jobs.invent import noted_once
from eggtooth.records import store

ON = date(2026, 2, 4)
COPIES, ANIMALS, YEARS, ENTRIES = "GHIJKLNOPQRSTUVWXYZ" + "A", 250, 4, 2_000_000
VERSION = 1


def large_house() -> Path:
    """The path of the store, opened; it is built when it is not there yet."""
    folder = Path(tempfile.gettempdir()) / "eggtooth-large-house"
    path = folder / f"house-{VERSION}.sqlite3"
    if not path.exists():
        folder.mkdir(exist_ok=True)
        build(folder / "building.sqlite3")
        for end in ("", ".key"):
            (folder / f"building.sqlite3{end}").rename(f"{path}{end}")
    return store.open_store(path)


def build(path: Path) -> None:
    """Live one house and keep it in copies."""
    lived = simulate_colony(np.random.default_rng(1), animals=ANIMALS, years=YEARS, until=ON).colony
    entries = list(noted_once(lived))[-ENTRIES // len(COPIES) :]
    path.unlink(missing_ok=True)
    store.open_store(path)
    store.save_incubators(replace(b, tag=f"{c}-{b.tag}") for c in COPIES for b in lived.incubators.values())
    store.save_wishes(lived.wishes)
    store.save_animals(a for letter in COPIES for a in animals_of(lived, letter))
    for letter in COPIES:
        store.add_entries(entries_of(entries, letter))
    from django.db import connection

    connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()


def animals_of(lived: Colony, letter: str) -> Iterator[Animal]:
    """The animals of one copy."""
    for a in lived.animals.values():
        tub = a.tub and Tub(f"{letter}{a.tub.rack}", a.tub.row, a.tub.place)
        parents = {"dam": a.dam and letter + a.dam, "sires": tuple(letter + s for s in a.sires)}
        yield replace(a, tag=letter + a.tag, tub=tub, **parents)


def entries_of(entries: list[Entry], letter: str) -> Iterator[Entry]:
    """The entries of one copy, each with an id of its own."""
    for e in entries:
        key = hashlib.blake2b(f"{letter}{e.id}".encode(), digest_size=16).hexdigest()
        place = f"{letter}-{e.tag}" if e.kind is Kind.TEMPERATURE else letter + e.tag
        detail = letter + str(e.detail) if e.kind in WITH_PARTNER else e.detail
        if e.kind is Kind.MOVED:
            detail = letter + str(tub_from(str(e.detail)))
        yield e._replace(id=key, tag=place, detail=detail)


if __name__ == "__main__":
    print(large_house())
