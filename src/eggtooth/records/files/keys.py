"""Ids for entries from a log that gives none: the same line gets the same id whenever it is read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from hashlib import sha1
from uuid import NAMESPACE_URL, UUID, uuid5

from eggtooth.engine.entries import Entry, detail_text
from eggtooth.records.files.writing import number

NO_ID = "log:"
NAMESPACE = uuid5(NAMESPACE_URL, "eggtooth:log")


def with_keys(entries: Iterable[Entry]) -> Iterator[Entry]:
    """Each entry with a UUID (32 hex digits): its own, or one made from what it says.

    The second of two equal lines counts as a second sighting and gets another id: reading a file twice gives
    the same ids, reading two equal lines gives two. Cost: one SHA-1 an entry (UUID version 5).
    """
    seen: Counter[str] = Counter()
    for entry in entries:
        if not entry.id.startswith(NO_ID):
            yield entry
            continue
        said = _said(entry)
        seen[said] += 1
        yield entry._replace(id=_uuid5_hex(f"{said}\x1f{seen[said]}"))


def _said(entry: Entry) -> str:
    moment = entry.at or entry.on
    detail = detail_text(entry.detail, entry.kind).strip()
    return "\x1f".join((moment.isoformat(), entry.tag, entry.kind, number(entry.value), detail))


def _uuid5_hex(text: str) -> str:
    digest = sha1(NAMESPACE.bytes + text.encode(), usedforsecurity=False).digest()[:16]
    return UUID(bytes=digest, version=5).hex
