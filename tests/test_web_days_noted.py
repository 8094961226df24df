"""One rule for the day something is noted for, on every way in: a log's dates, which end with tomorrow."""

from __future__ import annotations

import json
from collections.abc import Callable
from uuid import uuid4

import pytest
from django.http import HttpResponse
from django.test import Client

from eggtooth.engine.colony import Incubator
from eggtooth.records import store
from tests.test_web_round_page import HERE, room

__all__ = ["room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")
TODAY, TOMORROW, LATER, BEFORE = "2026-01-13", "2026-01-14", "2026-01-15", "1949-12-31"


@pytest.fixture(autouse=True)
def january(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EGGTOOTH_TODAY", TODAY)


def tap(on: str) -> HttpResponse:
    return Client().post("/note", {"on": on, "tap": f"{uuid4().hex}|refused|F1|"}, **HERE)


def typed(on: str) -> HttpResponse:
    said = {"on": on, "key": uuid4().hex, "tag": "F1", "kind": "weight", "value": "1900"}
    return Client().post("/note/entry", said, **HERE)


def fed(on: str) -> HttpResponse:
    return Client().post(f"/feeding?on={on}", {"on": on, "ate-F1": "1", "key-F1": uuid4().hex}, **HERE)


def corrected(on: str) -> HttpResponse:
    old = store.entries()[0].id
    said = {"id": old, "key": uuid4().hex, "on": on, "tag": "F1", "kind": "weight", "value": "1900"}
    return Client().post("/records/correct", said, **HERE)


def api(path: str, said: object) -> HttpResponse:
    return Client().post(f"/api/{path}", json.dumps(said), content_type="application/json", **HERE)


def by_script(on: str) -> HttpResponse:
    return api("entries", [{"on": on, "tag": "F1", "kind": "weight", "value": 1900}])


def by_probe(on: str) -> HttpResponse:
    store.save_incubators([Incubator("BOX", 2, 31.5)])
    return api("temperature", {"place": "BOX", "celsius": 31.5, "at": f"{on}T20:30"})


WAYS: list[Callable[[str], HttpResponse]] = [tap, typed, fed, corrected, by_script, by_probe]


@pytest.mark.parametrize("note", WAYS)
@pytest.mark.parametrize(("on", "why"), [(LATER, "is in the future"), ("2090-01-01", "is in the future")])
def test_what_is_to_come_is_not_noted(note: Callable[[str], HttpResponse], on: str, why: str) -> None:
    before = store.entries()
    answer = note(on)
    assert answer.status_code == 400
    assert f"{on} {why}" in answer.content.decode() and "2026" in answer.content.decode()
    assert store.entries() == before


@pytest.mark.parametrize("note", WAYS)
def test_a_clock_a_day_ahead_may_note(note: Callable[[str], HttpResponse]) -> None:
    assert note(TOMORROW).status_code in (200, 302)
    assert any(e.on.isoformat() == TOMORROW for e in store.entries())


@pytest.mark.parametrize("note", [w for w in WAYS if w is not fed])
def test_an_old_day_is_noted_as_files_do(note: Callable[[str], HttpResponse]) -> None:
    assert note("1955-06-01").status_code in (200, 302)


@pytest.mark.parametrize("note", WAYS)
def test_a_day_before_any_animal_here_is_refused(note: Callable[[str], HttpResponse]) -> None:
    assert note(BEFORE).status_code == 400


@pytest.mark.parametrize(("on", "taps"), [(TODAY, True), (TOMORROW, True), (LATER, False)])
def test_a_day_to_come_is_only_looked_at(on: str, taps: bool) -> None:
    page = Client().get(f"/?on={on}", **HERE).content.decode()
    assert ('name="tap"' in page) is taps
    assert ("nothing can be noted yet" in page) is not taps
    assert '<section class="tub"' in page
    meals = Client().get(f"/feeding?on={on}", **HERE).content.decode()
    assert "Nobody is due" in meals or ("Note all" in meals) is taps
    tub = Client().get(f"/tub/A-2-1?on={on}", **HERE).content.decode()
    assert ('name="tap"' in tub) is taps
