"""Answers kept from one page to the next: none is older than the colony it is asked of.

An answer is found again only for the very same colony object, and the store gives another one as soon as
anything is noted, taken back or changed. What rests on single animals is kept animal by animal beside it
(`Kept`, one for a day and its settings), so that one note costs one animal. The latest two days are kept.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from datetime import date
from threading import RLock
from typing import Any, Generic, NamedTuple, TypeVar

from eggtooth.engine.colony import Colony
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept

T = TypeVar("T")
MOST_DAYS, MOST = 2, 3

_days: dict[tuple[date, Settings], Kept] = {}


class _Known(NamedTuple, Generic[T]):
    colony: Colony
    answer: T


class Answers(Generic[T]):
    """The latest few answers to one question, by the day, the settings and whatever else was asked."""

    every: list[Answers[Any]] = []  # noqa: RUF012  all there are, to be emptied together

    def __init__(self, most: int = MOST) -> None:
        """Nothing is known yet."""
        self.most, self.known, self.one_at_a_time = most, dict[Hashable, _Known[T]](), RLock()
        self.every.append(self)

    def to(
        self, colony: Colony, on: date, settings: Settings, work: Callable[[Kept], T], more: Hashable = None
    ) -> T:
        """The answer for this colony; `work` gets what is kept of single animals for the day."""
        asked = on, settings, more
        with self.one_at_a_time:
            found = self.known.pop(asked, None)
            if found is None or found.colony is not colony:
                found = _Known(colony, work(_by_animal(on, settings)))
            self.known[asked] = found
            while len(self.known) > self.most:
                self.known.pop(next(iter(self.known)))
            return found.answer


def _by_animal(on: date, settings: Settings) -> Kept:
    kept = _days.pop((on, settings), None) or Kept()
    _days[on, settings] = kept
    while len(_days) > MOST_DAYS:
        _days.pop(next(iter(_days)), None)
    return kept


def forget() -> None:
    """Empty all of them, as in a new process."""
    _days.clear()
    for answers in Answers.every:
        answers.known.clear()
