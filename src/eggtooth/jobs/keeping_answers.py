"""Answers kept from one page to the next: none is older than the colony it is asked of.

An answer is found again only for the very same colony object, and the store gives another one as soon as
anything is noted, taken back or changed. What rests on single animals is kept animal by animal beside it
(`Kept`), so that one note costs one animal.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from threading import RLock
from typing import Any, Generic, NamedTuple, TypeVar

from eggtooth.engine.colony import Colony
from eggtooth.engine.kept import Kept

T = TypeVar("T")
MOST = 3


class _Known(NamedTuple, Generic[T]):
    colony: Colony
    answer: T
    by_animal: Kept


class Answers(Generic[T]):
    """The latest few answers to one question, by what was asked beside the colony (the day, the settings)."""

    every: list[Answers[Any]] = []  # noqa: RUF012  all there are, to be emptied together

    def __init__(self, most: int = MOST) -> None:
        """Nothing is known yet."""
        self.most, self.known, self.one_at_a_time = most, dict[Hashable, _Known[T]](), RLock()
        self.every.append(self)

    def to(self, colony: Colony, asked: Hashable, work: Callable[[Kept], T]) -> T:
        """The answer for this colony; `work` gets what was kept of single animals under the same `asked`."""
        with self.one_at_a_time:
            before = self.known.pop(asked, None)
            if before is None or before.colony is not colony:
                kept = before.by_animal if before else Kept()
                before = _Known(colony, work(kept), kept)
            self.known[asked] = before
            while len(self.known) > self.most:
                self.known.pop(next(iter(self.known)))
            return before.answer


def forget() -> None:
    """Empty all of them, as in a new process."""
    for answers in Answers.every:
        answers.known.clear()
