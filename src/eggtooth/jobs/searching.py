"""Finding entries: by animal, kind and days, those taken back among them, each with who noted it and when."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from eggtooth.engine.entries import Entry, Kind
from eggtooth.records import store


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for; empty means any."""

    tag: str = ""
    kind: Kind | None = None
    since: date | None = None
    until: date | None = None

    def __call__(self, entry: Entry) -> bool:
        """Whether an entry is among the wanted."""
        return (
            (not self.tag or self.tag in (entry.tag, entry.partner))
            and (self.kind is None or entry.kind is self.kind)
            and (self.since is None or entry.on >= self.since)
            and (self.until is None or entry.on <= self.until)
        )


@dataclass(frozen=True, slots=True)
class Found:
    """One entry with its own history; `voided` is who took it back, when and why."""

    entry: Entry
    noted_at: datetime | None
    voided: store.Voided | None


def find(wanted: Wanted, most: int) -> tuple[list[Found], int]:
    """The latest wanted entries, newest day first, and how many there are in all."""
    taken_back = {v.entry.id: v for v in store.voided()}
    hits = [e for e in _everything(taken_back) if wanted(e)]
    hits.sort(key=lambda e: (e.on, e.at.isoformat() if e.at else ""), reverse=True)
    times = store.noted_at() if hits else {}
    return [Found(e, times.get(e.id), taken_back.get(e.id)) for e in hits[:most]], len(hits)


def _everything(taken_back: dict[str, store.Voided]) -> Iterator[Entry]:
    yield from store.entries()
    yield from (v.entry for v in taken_back.values())
