"""One day of the stored colony: gather the records, ask the engine for the round."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from eggtooth.engine.colony import Colony, Tub
from eggtooth.engine.entries import Entry, detail_text
from eggtooth.engine.house import Settings
from eggtooth.engine.rounds import Round, Task, round_for
from eggtooth.jobs.keeping_answers import Answers
from eggtooth.records import store


@dataclass(frozen=True, slots=True)
class Day:
    """The colony, its settings, the day's round and what was noted for the day."""

    colony: Colony
    settings: Settings
    round: Round
    noted: tuple[Entry, ...]


_rounds = Answers[Round]()
_tubs = Answers[dict[str, Tub | None]]()


def day(on: date) -> Day:
    """Everything a page needs for one day, from the open store."""
    colony, settings = store.colony(), store.settings()
    found = _rounds.to(colony, on, settings, lambda kept: round_for(colony, on, settings, kept))
    return Day(colony, settings, found, tuple(store.entries_on(on)))


def tubs_on(found: Day, on: date) -> dict[str, Tub | None]:
    """The tub of every animal in the room, by tag."""
    colony = found.colony
    return _tubs.to(
        colony, on, found.settings, lambda _: {a.tag: colony.tub_of(a.tag, on) for a in colony.here(on)}
    )


def as_json(found: Round) -> dict[str, Any]:
    """The round as one json document."""
    return {"on": found.on.isoformat(), "tasks": [task_json(t) for t in found.tasks]}


def task_json(task: Task) -> dict[str, Any]:
    """One line of the round."""
    return {
        "kind": task.todo.value,
        "tag": task.tag,
        "with": task.partner or None,
        "tub": str(task.tub) if task.tub else None,
        "why": task.why,
        "entries": [entry_json(e) for e in task.entries],
        "urgency": task.urgency.value,
    }


def entry_json(entry: Entry) -> dict[str, Any]:
    """One entry behind a line."""
    return {
        "id": entry.id,
        "date": entry.at.isoformat() if entry.at else entry.on.isoformat(),
        "tag": entry.tag,
        "kind": entry.kind.value,
        "value": entry.value,
        "detail": detail_text(entry.detail, entry.kind),
    }
