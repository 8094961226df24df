"""The round page over a real store: what it shows, what a tap keeps, undo, and what it refuses."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from uuid import uuid4

import pytest
from django.test import Client

from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.engine.entries import Entry, Kind
from eggtooth.records import store

pytestmark = pytest.mark.usefixtures("fresh_store")
TUE = date(2026, 1, 13)
HERE = {"HTTP_HOST": "127.0.0.1"}


def entry(on: str, tag: str, kind: Kind, value: float | None = None, detail: str | None = None) -> Entry:
    return Entry(str(uuid4()), date.fromisoformat(on), None, tag, kind, value, detail, "keeper")


@pytest.fixture
def client() -> Client:
    """A browser's session without the checks that need a real page."""
    return Client()


@pytest.fixture
def room(fresh_store: Path) -> None:
    """One male that sat idle with F1; F2 is free."""
    animals = [
        Animal("M1", Sex.MALE, "Anvil", date(2023, 6, 1), tub=Tub("A", 1, 1)),
        Animal("F1", Sex.FEMALE, "", date(2021, 6, 1), tub=Tub("A", 2, 1)),
        Animal("F2", Sex.FEMALE, "", date(2021, 6, 1), tub=Tub("A", 2, 2)),
    ]
    store.save_animals(animals)
    store.add_entries(
        [
            entry("2026-01-10", "M1", Kind.WEIGHT, 710),
            entry("2026-01-03", "M1", Kind.MEAL, 1),
            entry("2026-01-10", "F1", Kind.WEIGHT, 1900),
            entry("2026-01-10", "F2", Kind.WEIGHT, 1900),
            entry("2026-01-12", "M1", Kind.PAIRED, None, "F1"),
        ]
    )


def page(client: Client, query: str = "?on=2026-01-13") -> str:
    answer = client.get("/" + query, **HERE)
    assert answer.status_code == 200
    return answer.content.decode()


def tap_of(html: str, say: str, tag: str) -> str:
    """The value of a button as the page drew it."""
    found = re.search(rf'value="([0-9a-f]+\|{say}\|{tag}\|[^"]*)"', html)
    assert found, f"no button {say} for {tag}"
    return found[1]


def send(client: Client, tap: str, **more: str) -> object:
    return client.post("/note", {"on": "2026-01-13", "tap": tap, **more}, **HERE)


def test_empty_store_leads_by_the_hand(client: Client) -> None:
    assert "eggtooth import" in page(client)


def test_round_shows_lines_with_their_why(client: Client, room: None) -> None:
    html = page(client)
    assert "check for lock" in html and "no lock noted with F1" in html and "Anvil" in html


def test_tapping_locked_changes_the_plan(client: Client, room: None) -> None:
    html = page(client)
    assert "move in" in html
    assert send(client, tap_of(html, "locked", "M1")).status_code == 302  # type: ignore[attr-defined]
    after = page(client)
    assert "leave in" in after and "move in" not in after


def test_undo_brings_the_plan_back_and_keeps_the_record(client: Client, room: None) -> None:
    tap = tap_of(page(client), "locked", "M1")
    send(client, tap)
    client.post("/undo", {"id": tap.split("|")[0]}, **HERE)
    after = page(client)
    assert "leave in" not in after and "move in" in after


def test_a_double_tap_is_kept_once(client: Client, room: None) -> None:
    tap = tap_of(page(client), "locked", "M1")
    send(client, tap)
    send(client, tap)
    locks = [e for e in store.colony().of_animal("M1") if e.kind is Kind.LOCK]
    assert len(locks) == 1


@pytest.mark.parametrize("number", ["", "heavy", "-3", "1e999", "nan", "88580"])
def test_impossible_grams_are_refused(client: Client, room: None, number: str) -> None:
    before = len(store.colony().of_animal("F1"))
    tap = f"{uuid4().hex}|grams|F1|"
    assert send(client, tap, number=number).status_code == 400  # type: ignore[attr-defined]
    assert len(store.colony().of_animal("F1")) == before


def test_decimal_comma_is_read(client: Client, room: None) -> None:
    send(client, f"{uuid4().hex}|grams|F1|", number="1905,5")
    assert store.colony().of_animal("F1")[-1].value == 1905.5


@pytest.mark.parametrize("tap", ["", "x", "a|b|c|d", "0" * 32 + "|nonsense|F1|", "zz|locked|M1|F1"])
def test_unknown_buttons_are_refused(client: Client, room: None, tap: str) -> None:
    assert send(client, tap).status_code == 400  # type: ignore[attr-defined]


def test_unknown_animals_are_refused(client: Client, room: None) -> None:
    assert send(client, f"{uuid4().hex}|ate1|NOBODY|").status_code == 400  # type: ignore[attr-defined]


@pytest.mark.parametrize("on", ["2026-13-01", "tomorrow", "9999-01-01"])
def test_bad_dates_are_refused(client: Client, on: str) -> None:
    assert client.get(f"/?on={on}", **HERE).status_code == 400


def test_a_form_from_elsewhere_is_refused(room: None) -> None:
    stranger, before = Client(enforce_csrf_checks=True), len(store.entries())
    answer = stranger.post("/note", {"on": "2026-01-13", "tap": f"{uuid4().hex}|ate1|F1|"}, **HERE)
    said = answer.content.decode()
    assert answer.status_code == 403 and len(store.entries()) == before
    assert (
        "Nothing of it was kept. Open the page anew" in said and "CSRF" not in said and "<style" not in said
    )
    assert answer["Content-Type"].startswith("text/html"), "the script would take text for a refusal for good"


def test_names_cannot_carry_script(client: Client) -> None:
    store.save_animals([Animal("X1", Sex.MALE, "<script>alert(1)</script>", tub=Tub("A", 1, 1))])
    assert "<script>" not in page(client)


def test_nothing_is_loaded_from_elsewhere(client: Client, room: None) -> None:
    answer = client.get("/", **HERE)
    assert "default-src 'none'" in answer["Content-Security-Policy"]
    assert not re.findall(r'(?:src|href|action)="(?:https?:)?//', answer.content.decode())


def test_sorts_narrow_the_list(client: Client, room: None) -> None:
    html = page(client, "?on=2026-01-13&do=moves")
    assert "check for lock" in html and "<b>feed</b>" not in html
