"""What an animal's page works out of its family is worked out once, and anew as soon as it may be another."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.test import Client

from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.entries import Kind
from eggtooth.engine.pedigree.why import moved_by
from eggtooth.jobs import answered, family_kept, keeping_answers
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.proving import how_to_prove
from eggtooth.records import store
from tests.test_web_round_page import HERE, client, entry

__all__ = ["client"]
pytestmark = pytest.mark.usefixtures("fresh_store")
ON = date(2026, 1, 13)


@pytest.fixture(autouse=True)
def family(monkeypatch: pytest.MonkeyPatch, fresh_store: Any) -> None:
    """Two hets, their child that shows nothing, and a female to prove it with."""
    monkeypatch.setenv("EGGTOOTH_TODAY", ON.isoformat())
    family_kept.forget()
    keeping_answers.forget()
    store.save_animals(
        [
            Animal("S", Sex.MALE, genes="het Clown"),
            Animal("D", Sex.FEMALE, genes="het Clown"),
            Animal("X", Sex.MALE, "", date(2024, 6, 1), "Normal", ("S",), "D"),
            Animal("F", Sex.FEMALE, "", date(2022, 6, 1), "Clown"),
        ]
    )


def anew() -> tuple[Any, Any]:
    found = family_kept.known_now(store.colony(), ON)
    return moved_by(found, "X", "Clown"), how_to_prove(found, "X", ON, store.settings(), ["Clown"])[0]


def told() -> tuple[Any, Any]:
    source = from_store()
    return answered.moved(source, "X", "Clown", ON), answered.way_to_prove(source, "X", "Clown", ON)


def test_a_second_look_works_nothing_out(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    first = client.get("/animal/X", **HERE).content
    for name in ("moved_by", "how_to_prove"):
        monkeypatch.setattr(answered, name, lambda *_: pytest.fail("worked out again"))
    monkeypatch.setattr(family_kept, "_noted", lambda *_: pytest.fail("looked through again"))
    again = client.get("/animal/X", **HERE).content
    assert b"Clown in the family" in first and len(again) == len(first)


def test_what_is_noted_or_changed_is_seen_at_once() -> None:
    before = told()
    assert before == anew() and before[1].chance == pytest.approx(2 / 3)  # of a normal out of het to het
    store.add_entries([entry("2026-01-10", "X", Kind.WEIGHT, 700)])
    assert told() == anew()
    store.add_entries([entry("2026-01-11", "X", Kind.TEST, None, "Clown 1")])
    after = told()
    assert after == anew() and after[1].chance > 0.95
    store.save_animals([Animal("X", Sex.MALE, "", date(2024, 6, 1), "Clown", ("S",), "D")])
    assert told() == anew() != after
