"""One day of the stored colony: gather the records, ask the engine for the round."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from eggtooth.engine.colony import Colony
from eggtooth.engine.entries import Entry
from eggtooth.engine.house import Settings
from eggtooth.engine.rounds import Round, round_for
from eggtooth.records import store


@dataclass(frozen=True, slots=True)
class Day:
    """The colony, its settings, the day's round and what was noted for the day."""

    colony: Colony
    settings: Settings
    round: Round
    noted: tuple[Entry, ...]


def day(on: date) -> Day:
    """Everything a page needs for one day, from the open store."""
    colony, settings = store.colony(), store.settings()
    noted = tuple(store.entries_on(on))
    return Day(colony, settings, round_for(colony, on, settings), noted)
