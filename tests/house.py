"""A small invented house for the pages: females at every stage, males at work, clutches, temperatures."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from uuid import UUID

import pytest
from django.test import Client

from eggtooth.engine.colony import Animal, Incubator, Sex, Tub
from eggtooth.engine.entries import Detail, Entry, Kind, Prey
from eggtooth.records import store

ON = date(2026, 2, 4)
HERE = {"HTTP_HOST": "127.0.0.1"}

Noted = tuple[str, Kind, float | None, Detail]

NOTES: dict[str, list[Noted]] = {
    "GROWING": [
        ("2025-12-20", Kind.SCAN, 17.0, None),
        ("2026-01-10", Kind.SCAN, 21.0, None),
        ("2026-01-31", Kind.SCAN, 27.0, None),
    ],
    "OVULATED": [("2026-01-05", Kind.SCAN, 38.0, None), ("2026-01-20", Kind.OVULATION, None, None)],
    "LYING": [("2026-01-12", Kind.LAID, 6, 1)],
    "DONE": [("2025-10-20", Kind.LAID, 5, None), ("2025-12-18", Kind.PIPPED, 5, None)],
    "ANVIL": [
        ("2026-01-26", Kind.PAIRED, None, "GROWING"),
        ("2026-01-28", Kind.LOCK, None, "GROWING"),
        ("2026-01-29", Kind.PARTED, None, "GROWING"),
        ("2026-02-02", Kind.PAIRED, None, "RESTING"),
    ],
    "WORN": [("2025-11-20", Kind.PAIRED, None, "RESTING"), ("2025-11-24", Kind.PARTED, None, "RESTING")],
}
GRAMS = {"GROWING": 1900, "OVULATED": 2100, "LYING": 1500, "DONE": 1700, "RESTING": 1600, "ANVIL": 760}


def _entries() -> Iterator[Entry]:
    noted = [(t, *n) for t, notes in NOTES.items() for n in notes]
    for week in range(20):
        day = (ON - timedelta(days=7 * week + 1)).isoformat()
        for tag, grams in GRAMS.items():
            noted.append((tag, day, Kind.MEAL, float(week != 3), Prey("small rat", 70)))
            noted.append((tag, day, Kind.WEIGHT, grams - 4.0 * week, None))
        noted.append(("WORN", day, Kind.WEIGHT, 640.0 + 6 * week, None))
        noted.append(("WORN", day, Kind.MEAL, float(week > 11), Prey("adult mouse", None)))
    for n, (tag, on, kind, value, detail) in enumerate(noted):
        yield Entry(str(UUID(int=n + 1)), date.fromisoformat(on), None, tag, kind, value, detail, "keeper")
    for n in range(20):
        warm = 31.5 + 0.1 * (n % 3)
        on = ON - timedelta(days=n)
        yield Entry(str(UUID(int=9000 + n)), on, None, "BOX", Kind.TEMPERATURE, warm, None, "keeper")


@pytest.fixture
def bred(fresh_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The house in an open store, on the day `ON`."""
    monkeypatch.setenv("EGGTOOTH_TODAY", ON.isoformat())
    males = {"ANVIL", "WORN"}
    tags = [*GRAMS, "WORN"]
    store.save_animals(
        Animal(
            tag,
            Sex.MALE if tag in males else Sex.FEMALE,
            hatched=date(2021, 7, 1),
            tub=Tub("A", 1, n),
        )
        for n, tag in enumerate(tags)
    )
    store.save_incubators([Incubator("BOX", 2, 31.5)])
    store.add_entries(_entries())


def page(path: str, status: int = 200) -> str:
    """The text of a page; fails on another status."""
    answer = Client().get(path, **HERE)
    assert answer.status_code == status, answer.content[:400]
    text: str = answer.content.decode()
    return text
