"""The http interface: entries in once, refusals told, rights kept, and anything at all thrown at it."""

from __future__ import annotations

import json
from typing import Any
from uuid import uuid4

import pytest
import schemathesis
from django.core.wsgi import get_wsgi_application
from django.test import Client
from hypothesis import HealthCheck, settings
from schemathesis.specs.openapi.checks import positive_data_acceptance

from eggtooth.engine.colony import Incubator
from eggtooth.records import people, store
from tests.test_web_round_page import HERE, room

__all__ = ["room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")
JSON = "application/json"


def send(path: str, said: Any, **more: str) -> tuple[int, Any]:
    answer = Client().post(f"/api/{path}", json.dumps(said), content_type=JSON, **HERE, **more)
    return answer.status_code, answer.json()


def weight(grams: float, **more: Any) -> dict[str, Any]:
    return {"id": str(uuid4()), "on": "2026-01-13", "tag": "F1", "kind": "weight", "value": grams, **more}


def test_entries_sent_twice_are_kept_once() -> None:
    entries, before = [weight(1901), weight(1902)], len(store.entries())
    for _ in range(2):
        status, told = send("entries", entries)
        assert status == 200 and len(told["kept"]) == 2
    assert len(store.entries()) == before + 2


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"tag": "FI"}, "did you mean F1?"),
        ({"kind": "wait"}, "is not a kind of entry"),
        ({"value": None}, "missing"),
        ({"value": 1e9}, "cannot be"),
        ({"on": "2207-01-01"}, "is in the future"),
        ({"kind": "lock", "value": None, "detail": "F1"}, "the animal itself"),
    ],
)
def test_one_wrong_entry_keeps_all_out(wrong: dict[str, Any], told: str) -> None:
    before = len(store.entries())
    status, said = send("entries", [weight(1900), weight(1900) | wrong])
    assert status == 400 and told in said["detail"]
    assert len(store.entries()) == before


def test_a_probe_posts_its_temperature() -> None:
    store.save_incubators([Incubator("INC1", 12, 31.5)])
    status, _ = send("temperature", {"place": "INC1", "celsius": 31.4, "at": "2026-01-13T20:30"})
    assert status == 200
    kept = store.entries()[-1]
    assert (kept.tag, kept.value, str(kept.at)) == ("INC1", 31.4, "2026-01-13 20:30:00")
    assert "did you mean INC1?" in send("temperature", {"place": "INCI", "celsius": 31.4})[1]["detail"]
    assert "cannot be" in send("temperature", {"place": "INC1", "celsius": 88.7})[1]["detail"]


def test_a_form_of_another_site_cannot_send_anything() -> None:
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"):
        answer = Client().post("/api/entries", json.dumps([weight(1)]), content_type=kind, **HERE)
        assert answer.status_code in (400, 415, 422)
    assert 1.0 not in {e.value for e in store.entries() if e.tag == "F1"}


def test_answers_are_those_of_the_command_line() -> None:
    client = Client()
    tasks = client.get("/api/round?on=2026-01-13", **HERE).json()["tasks"]
    assert {"kind", "tag", "with", "tub", "why", "entries", "urgency"} <= set(tasks[0])
    females = client.get("/api/forecast?on=2026-01-13", **HERE).json()["females"]
    assert {f["tag"] for f in females} == {"F1", "F2"}
    males = client.get("/api/wear?on=2026-01-13", **HERE).json()["males"]
    assert [m["tag"] for m in males] == ["M1"]
    cross = client.get("/api/cross?sire=het Clown&dam=het Clown", **HERE).json()
    assert {o["exact"] for o in cross["outcomes"]} == {"3/4", "1/4"}
    assert "Clwn" in client.get("/api/cross?sire=Clwn&dam=Clown", **HERE).json()["detail"]
    entries = client.get("/api/animals/F1/entries?kind=weight", **HERE).json()["entries"]
    assert [e["value"] for e in entries] == [1900]
    assert client.get("/api/animals/none/entries", **HERE).status_code == 404


def test_a_token_goes_as_far_as_its_person(monkeypatch: pytest.MonkeyPatch) -> None:
    tokens = {}
    for role in people.Role:
        people.add(role.value, role, "a long enough pass phrase")
        tokens[role] = people.make_secret(role.value, people.Purpose.INTERFACE, "scale")
    monkeypatch.setenv("EGGTOOTH_SIGN_IN", "1")
    assert send("entries", [weight(1)])[0] == 401
    assert send("entries", [weight(1)], HTTP_AUTHORIZATION="Bearer wrong")[0] == 401
    for role, token in tokens.items():
        bearer = {"HTTP_AUTHORIZATION": f"Bearer {token}"}
        assert Client().get("/api/round", **HERE, **bearer).status_code == 200
        answer = Client().post(
            "/api/entries", json.dumps([weight(1903)]), content_type=JSON, **HERE, **bearer
        )
        assert answer.status_code == (403 if role is people.Role.READER else 200)
        assert Client().get("/", **HERE, **bearer)["Location"] == "/sign-in"
    people.end_secrets("owner", people.Purpose.INTERFACE)
    bearer = {"HTTP_AUTHORIZATION": f"Bearer {tokens[people.Role.OWNER]}"}
    assert Client().get("/api/round", **HERE, **bearer).status_code == 401


@pytest.fixture
def schema(fresh_store: object, room: None) -> Any:
    return schemathesis.openapi.from_wsgi(
        "/api/openapi.json", get_wsgi_application(), headers={"Host": "127.0.0.1"}
    )


every_call = schemathesis.pytest.from_fixture("schema")


@every_call.parametrize()
@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
def test_whatever_is_sent_is_answered_as_the_description_says(case: Any) -> None:
    """Well-formed requests may be refused (no description can name the animals of a house), but told so."""
    case.call_and_validate(headers={"Host": "127.0.0.1"}, excluded_checks=[positive_data_acceptance])
