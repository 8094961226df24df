"""What prey a meal noted by a tap was: what the round says is due, unless the hand chooses another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from eggtooth.engine.entries import Detail, Entry, Kind, Prey, detail_text
from eggtooth.engine.facts import biology
from eggtooth.engine.rounds import Task, Todo
from eggtooth.records.files.details import detail_of

SIZES = tuple(sorted(map(str, biology.PREY_TYPICAL_G), key=biology.PREY_TYPICAL_G.__getitem__))
BESIDE = 2


def choices(task: Task) -> tuple[str, ...]:
    """The prey due first, then the sizes beside it and what was noted last. An empty word is not noted.

    Only names: grams are an observation, and nobody weighed it.
    """
    return _around(task.prey, [detail_text(e.detail) for e in reversed(task.entries) if _prey(e)])


def choices_of(tasks: Iterable[Task], meals: Sequence[Entry]) -> tuple[str, ...]:
    """The same for an animal fed out of turn, from what is due to it, else from its last meal; where nothing
    is known all sizes.
    """
    due = next((t.prey for t in tasks if t.todo in (Todo.FEED, Todo.SKIP_MEAL) and t.prey), "")
    last = [detail_text(e.detail) for e in reversed(meals) if _prey(e)]
    first = due or next((e.detail.text for e in reversed(meals) if isinstance(e.detail, Prey)), "")
    if first not in SIZES:
        return tuple(dict.fromkeys((*last[:1], "", *SIZES)))
    return _around(first, last)


def _around(prey: str, last: Sequence[str]) -> tuple[str, ...]:
    at = SIZES.index(prey) if prey else None
    beside = () if at is None else SIZES[max(0, at - BESIDE) : at + BESIDE + 1]
    return tuple(dict.fromkeys((prey, *beside, *filter(None, last[:1]), "")))


def _prey(entry: Entry) -> bool:
    return isinstance(entry.detail, Prey)


def chosen(said: Mapping[str, str], tag: str) -> Detail:
    """The prey a form says for an animal, as a log would have it. Raises `ValueError`."""
    return detail_of(Kind.MEAL, said.get(f"prey-{tag}", ""))
