"""The kept copy where entries come to light in another order than that of their numbers, as on PostgreSQL."""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from contextlib import ExitStack
from datetime import date
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest

from eggtooth.engine.colony import Animal, Sex
from eggtooth.records import standing, store
from eggtooth.records.in_flight import Floor, Mark

ON = date(2026, 2, 4)
TAGS = [f"F{n}" for n in range(5)]

INSERT = """
INSERT INTO records_entry (key, on_day, at, animal_id, place, kind, value, detail, noted_by, noted_at, note)
SELECT %s, %s, '', id, '', 'meal', 1, '', 'hand', now(), '' FROM records_animal WHERE tag = %s
"""


def mark(highest: int, *writers: str) -> Mark:
    return Mark(highest, frozenset(writers))


def test_the_floor_rises_only_past_those_who_have_ended() -> None:
    floor = Floor().raised(mark(8, "a"))
    assert floor.number == 0
    floor = floor.raised(mark(12, "a", "b"))
    assert floor.number == 0, "a may still bring 7"
    floor = floor.raised(mark(15, "b"))
    assert floor.number == 8, "whoever wrote when 8 was the highest has ended"
    floor = floor.raised(mark(20, "b", "c"))
    assert floor.number == 8, "b wrote when 15 was the highest"
    assert floor.raised(mark(20)).number == 20


@pytest.fixture
def room(fresh_store: Path) -> Iterator[Path]:
    if "EGGTOOTH_DATABASE" not in os.environ:
        pytest.skip("SQLite has one writer at a time (EGGTOOTH_TEST_DATABASE=postgresql tries this)")
    store.save_animals(Animal(t, Sex.FEMALE) for t in TAGS)
    standing.forget()
    yield fresh_store
    standing.forget()


class Hand:
    """Somebody with a connection of her own, in a transaction that lasts."""

    def __init__(self, stack: ExitStack) -> None:
        import psycopg

        self.connection: Any = stack.enter_context(psycopg.connect(os.environ["EGGTOOTH_DATABASE"]))

    def note(self, tag: str, luck: random.Random) -> None:
        self.connection.execute(INSERT, [UUID(int=luck.getrandbits(128)), ON, tag])


def read_anew() -> Any:
    kept = standing._kept
    standing.forget()
    found = store.colony()
    standing._kept = kept
    return found


def test_a_lower_number_that_comes_later_is_seen(room: Path) -> None:
    luck = random.Random(1)
    with ExitStack() as stack:
        slow, quick = Hand(stack), Hand(stack)
        slow.note("F0", luck)
        quick.note("F1", luck)
        quick.connection.commit()
        for _ in range(3):  # the slow one writes on while others look
            assert [len(store.colony().of_animal(t)) for t in ("F0", "F1")] == [0, 1]
        before = store.colony()
        slow.connection.commit()
        after = store.colony()
        assert [len(after.of_animal(t)) for t in ("F0", "F1")] == [1, 1]
        assert after.of_animal("F1") is before.of_animal("F1")
        assert store.colony() is after and standing._kept and not standing._kept.seen


@pytest.mark.parametrize("seed", range(4))
def test_equal_to_what_is_read_anew_whoever_ends_when(room: Path, seed: int) -> None:
    luck = random.Random(seed)
    with ExitStack() as stack:
        hands = [Hand(stack) for _ in range(4)]
        for _ in range(120):
            hand = luck.choice(hands)
            what = luck.choice(("note", "note", "keep", "drop", "look", "look"))
            if what == "note":
                hand.note(luck.choice(TAGS), luck)
            elif what == "keep":
                hand.connection.commit()
            elif what == "drop":
                hand.connection.rollback()
            else:
                assert store.colony() == read_anew()
        for hand in hands:
            hand.connection.commit()
        assert store.colony() == read_anew()


def test_a_store_made_before_the_trigger_gets_it(room: Path) -> None:
    from django.db import connection

    from eggtooth.records import append_only

    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {append_only.WRITES_TRIGGER} ON records_entry")
    assert append_only.lacking()
    store.open_store()
    assert not append_only.lacking()
