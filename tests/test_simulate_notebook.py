"""The notebook's ids against the standard library, and the colony it gives against `Colony.of`."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import UUID, uuid5

from eggtooth.engine.colony import Animal, Colony
from eggtooth.engine.entries import Kind
from eggtooth.engine.simulate.notebook import OURS, Notebook, day_of, named_uuid


def test_named_uuid_is_uuid5() -> None:
    """RFC 9562 version 5, as `uuid.uuid5` makes it."""
    for name in ("", "0", "12345", "ein längerer Name"):
        assert named_uuid(OURS.bytes, name) == str(uuid5(OURS, name))
        assert UUID(named_uuid(OURS.bytes, name)).version == 5


def test_ids_depend_on_seed_and_place() -> None:
    def ids(seed: int) -> list[str]:
        book = Notebook(seed)
        return [book.note(date(2026, 1, 1), "F1", Kind.SHED).id for _ in range(5)]

    assert ids(1) == ids(1)
    assert len({*ids(1), *ids(2)}) == 10


def test_colony_is_as_of_loose_values() -> None:
    book = Notebook(1)
    animals = {t: Animal(t) for t in ("M1", "F1")}
    for k in range(6):
        on = date(2026, 1, 9) - timedelta(days=(k * 5) % 7)
        book.note(on, "M1", Kind.PAIRED, None, "F1", hour=20.5)
        book.note(on, "F1", Kind.WEIGHT, 1500.0 + k)
        book.note(on, "F1", Kind.MOVED, None, f"B-1-{k}")
        early = book.colony(animals, (), {})
        loose = Colony.of(animals.values(), book.entries)
        assert dict(early.entries) == dict(loose.entries)
        assert dict(early.turns) == dict(loose.turns)


def test_day_of() -> None:
    assert day_of(date(2026, 2, 3).toordinal()) == date(2026, 2, 3)
    assert day_of(date(2026, 2, 3).toordinal() + 0.9) == date(2026, 2, 3)
