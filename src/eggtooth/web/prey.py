"""What prey a meal noted by a tap was: what the round says is due, unless the hand chooses another."""

from __future__ import annotations

from collections.abc import Mapping

from eggtooth.engine.entries import Detail, Kind, Prey, detail_text
from eggtooth.engine.facts import biology
from eggtooth.engine.rounds import Task
from eggtooth.records.files.details import detail_of

SIZES = tuple(sorted(map(str, biology.PREY_TYPICAL_G), key=biology.PREY_TYPICAL_G.__getitem__))
BESIDE = 2


def choices(task: Task) -> tuple[str, ...]:
    """The prey due first, then the sizes beside it and what was noted last. An empty word is not noted.

    Only names: grams are an observation, and nobody weighed it.
    """
    at = SIZES.index(task.prey) if task.prey else None
    beside = () if at is None else SIZES[max(0, at - BESIDE) : at + BESIDE + 1]
    last = [detail_text(e.detail) for e in reversed(task.entries) if isinstance(e.detail, Prey)]
    return tuple(dict.fromkeys((task.prey, *beside, *filter(None, last[:1]), "")))


def chosen(said: Mapping[str, str], tag: str) -> Detail:
    """The prey a form says for an animal, as a log would have it. Raises `ValueError`."""
    return detail_of(Kind.MEAL, said.get(f"prey-{tag}", ""))
