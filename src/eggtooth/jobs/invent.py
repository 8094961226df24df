"""An invented colony for looking around: made by the engine, kept in a store or written as files."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path

from eggtooth.engine.colony import Colony
from eggtooth.engine.entries import Entry
from eggtooth.records.files import writing


def invent(seed: int, on: date) -> Colony:
    """A colony of two simulated years up to a day. The same seed and day give the same colony."""
    import numpy as np

    from eggtooth.engine.simulate.colony import simulate_colony

    return simulate_colony(np.random.default_rng(seed), until=on).colony


def keep(colony: Colony, path: Path) -> None:
    """Put a colony into a store of its own, all of it or nothing."""
    from eggtooth.records import store

    store.open_store(path)
    with store.all_or_nothing():
        store.save_animals(colony.animals.values())
        store.save_incubators(colony.incubators.values())
        store.save_wishes(colony.wishes)
        store.add_entries(noted_once(colony))


def write(colony: Colony, folder: Path) -> None:
    """Write the four csv files of a colony into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    texts = {
        "animals": writing.animals_text(colony.animals.values()),
        "log": writing.log_text(noted_once(colony)),
        "wishes": writing.wishes_text(colony.wishes),
        "incubators": writing.incubators_text(colony.incubators.values()),
    }
    for name, text in texts.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")


def noted_once(colony: Colony) -> Iterable[Entry]:
    """Each entry once, by day, under the animal it was noted for: pairings stand under both in a colony."""
    from eggtooth.engine.entries import WITH_PARTNER

    seen: dict[str, Entry] = {}
    for entries in colony.entries.values():
        for entry in entries:
            male_side = entry.kind not in WITH_PARTNER or colony.animals[entry.tag].sex.value == "M"
            if entry.id not in seen or male_side:
                seen[entry.id] = entry
    return sorted(seen.values(), key=lambda e: (e.on, e.at.isoformat() if e.at else "", e.tag))
