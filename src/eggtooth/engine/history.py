"""One animal's entries up to a day, at hand by kind."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from datetime import date
from itertools import groupby
from operator import itemgetter

from eggtooth.engine.entries import Entry, Kind

NONE: Sequence[Entry] = ()
_day = itemgetter(Entry._fields.index("on"))
_kind = itemgetter(Entry._fields.index("kind"))


class History:
    """Entries of one animal not after `on`, looked up by kind. Building costs a sort by kind.

    The entries must come oldest first, as a colony holds them.
    """

    __slots__ = ("_by_kind", "on")

    def __init__(self, entries: Sequence[Entry], on: date) -> None:
        """Keep the entries dated `on` or earlier."""
        self.on = on
        if entries and entries[-1].on > on:
            entries = entries[: bisect_right(entries, on, key=_day)]
        self._by_kind = {kind: list(seen) for kind, seen in groupby(sorted(entries, key=_kind), _kind)}

    def all(self, kind: Kind, since: date | None = None) -> Sequence[Entry]:
        """Entries of one kind, oldest first, from `since` on if given."""
        seen = self._by_kind.get(kind, NONE)
        if since is None or not seen or seen[0].on >= since:
            return seen
        return seen[bisect_left(seen, since, key=_day) :]

    def last(self, kind: Kind, since: date | None = None) -> Entry | None:
        """The latest entry of one kind, if it is not before `since`."""
        seen = self._by_kind.get(kind)
        return seen[-1] if seen and (since is None or seen[-1].on >= since) else None

    def first(self, kind: Kind, since: date | None = None) -> Entry | None:
        """The earliest entry of one kind, from `since` on if given."""
        seen = self.all(kind, since)
        return seen[0] if seen else None

    def last_meal(self) -> Entry | None:
        """The latest meal that was taken."""
        return next((e for e in reversed(self.all(Kind.MEAL)) if (e.value or 0) > 0), None)

    def refusals(self) -> list[Entry]:
        """Meals refused since the last one taken, oldest first."""
        eaten = self.last_meal()
        return [e for e in self.all(Kind.MEAL, eaten.on if eaten else None) if e.value == 0]
