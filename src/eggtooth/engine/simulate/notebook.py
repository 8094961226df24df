"""What the keeper writes down: deterministic ids, gaps, and the colony as known so far."""

from __future__ import annotations

from bisect import insort
from collections import defaultdict
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from hashlib import sha1
from types import MappingProxyType
from uuid import UUID, uuid5

from eggtooth.engine.colony import TURNS, Animal, Colony, Incubator, Wish, mirrored
from eggtooth.engine.entries import WITH_PARTNER, Detail, Entry, Kind

OURS = UUID("6f3f5b1e-8f63-5c0e-9f58-1d7a52c7e7a1")
"""Name space of the ids of invented entries."""

EPOCH = date(1, 1, 1)


@lru_cache(maxsize=8192)
def day_of(ordinal: float) -> date:
    """The date of an ordinal day, whole or not."""
    return EPOCH + timedelta(days=int(ordinal) - 1)


def named_uuid(space: bytes, name: str) -> str:
    """The text of `uuid5` of a name space and a name; `uuid.uuid5` itself takes three times as long."""
    digest = bytearray(sha1(space + name.encode(), usedforsecurity=False).digest()[:16])
    digest[6] = digest[6] & 0x0F | 0x50
    digest[8] = digest[8] & 0x3F | 0x80
    text = digest.hex()
    return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"


class Notebook:
    """Entries in the order they were noted; the same seed and the same notes give the same ids."""

    def __init__(self, seed: int) -> None:
        """Start an empty notebook."""
        self.entries: list[Entry] = []
        self._space = uuid5(OURS, str(seed)).bytes
        self._by_tag: defaultdict[str, list[Entry]] = defaultdict(list)
        self._settled: dict[str, tuple[Entry, ...]] = {}
        self._turns: dict[str, tuple[Entry, ...]] = {}

    def note(
        self,
        on: date,
        tag: str,
        kind: Kind,
        value: float | None = None,
        detail: Detail = None,
        *,
        hour: float | None = None,
        note: str = "",
    ) -> Entry:
        """Write one entry down; it stands under the partner's tag too, as `Colony.of` would have it."""
        at = None if hour is None else datetime.combine(on, time(int(hour), int(hour % 1 * 60)))
        ident = named_uuid(self._space, str(len(self.entries)))
        entry = Entry(ident, on, at, tag, kind, value, detail, "", note)
        self.entries.append(entry)
        self._file(tag, entry)
        if kind in WITH_PARTNER:
            self._file(entry.partner, mirrored(entry))
        return entry

    def _file(self, tag: str, entry: Entry) -> None:
        """Keep a tag's entries in order of time; those of one moment in the order they were noted."""
        seen = self._by_tag[tag]
        if seen and seen[-1].on >= entry.on:
            insort(seen, entry, key=_in_time)
        else:
            seen.append(entry)
        self._settled.pop(tag, None)

    def of(self, tag: str) -> list[Entry]:
        """Entries under one tag, in order of time."""
        return self._by_tag[tag]

    def colony(
        self, animals: dict[str, Animal], wishes: tuple[Wish, ...], incubators: dict[str, Incubator]
    ) -> Colony:
        """The colony as known now. Only tags with new entries are copied again."""
        for tag, seen in self._by_tag.items():
            if tag not in self._settled:
                self._settled[tag] = tuple(seen)
                if turns := tuple(e for e in self._settled[tag] if e.kind in TURNS):
                    self._turns[tag] = turns
        return Colony(
            MappingProxyType(dict(animals)),
            MappingProxyType(dict(self._settled)),
            wishes,
            MappingProxyType(dict(incubators)),
            MappingProxyType(dict(self._turns)),
        )


def _in_time(entry: Entry) -> tuple[date, str]:
    return entry.on, entry.at.isoformat() if entry.at else ""
