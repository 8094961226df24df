"""One animal's entries up to a day, at hand by kind."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from eggtooth.engine.entries import Entry, Kind

NONE: Sequence[Entry] = ()


class History:
    """Entries of one animal not after `on`, oldest first, looked up by kind. Building costs one pass."""

    __slots__ = ("_by_kind", "on")

    def __init__(self, entries: Iterable[Entry], on: date) -> None:
        """Keep the entries dated `on` or earlier."""
        self.on = on
        by_kind: defaultdict[Kind, list[Entry]] = defaultdict(list)
        for entry in entries:
            if entry.on <= on:
                by_kind[entry.kind].append(entry)
        self._by_kind = dict(by_kind)

    def all(self, kind: Kind, since: date | None = None) -> Sequence[Entry]:
        """Entries of one kind, oldest first, from `since` on if given."""
        seen = self._by_kind.get(kind, NONE)
        if since is None or not seen or seen[0].on >= since:
            return seen
        return [e for e in seen if e.on >= since]

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
