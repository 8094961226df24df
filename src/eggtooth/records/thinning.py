"""Which of many dated copies are no longer needed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from typing import TypeVar

T = TypeVar("T")
LATEST = 14
WEEKS = 13


def superfluous(copies: Sequence[T], when: Callable[[T], datetime]) -> list[T]:
    """Copies that may go, given oldest first.

    Kept are the last 14 whatever their dates (so a clock that ran wild takes none of them away), the last of
    each of the 14 latest days, the last of each of the 13 latest weeks, and the last of every month. Counted
    are the days, weeks and months that have copies, never those by a clock.
    """
    kept = set(range(max(0, len(copies) - LATEST), len(copies)))
    kept |= _last_of(((when(c).date() for c in copies)), LATEST)
    kept |= _last_of(((when(c) - timedelta(days=when(c).weekday())).date() for c in copies), WEEKS)
    kept |= _last_of(((when(c).year, when(c).month) for c in copies), len(copies))
    return [copy for i, copy in enumerate(copies) if i not in kept]


def _last_of(spans: Iterable[object], latest: int) -> set[int]:
    """The place of the last copy of each span, for so many of the latest spans."""
    last = {span: place for place, span in enumerate(spans)}
    return set(sorted(last.values())[-latest:]) if latest else set()
