"""What goes out: only the fields that are for somebody to see, whoever asks (V15.3.1)."""

from __future__ import annotations

import json

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session

from eggtooth.records import first_passwords, models, people
from eggtooth.records.files.table import COLUMNS
from eggtooth.records.people import Purpose, Role
from tests.test_web_doors import ALL, doors, house, inside, note, signed_in
from tests.test_web_round_page import HERE, room

__all__ = ["doors", "house", "room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")


@pytest.mark.parametrize("role", Role)
def test_no_answer_holds_what_guards_the_doors(house: None, role: Role) -> None:
    for person in Role:
        people.make_secret(person.value.capitalize(), Purpose.CALENDAR)
    client, token = inside(role)
    first_passwords.let_in("Ben", Role.READER, "Owner")
    signed_in(Role.HELPER)
    hidden = [settings.SECRET_KEY, *Session.objects.values_list("session_key", flat=True)]
    hidden += models.Person.objects.values_list("password", flat=True)
    hidden += models.Secret.objects.values_list("digest", flat=True)
    assert len(hidden) > 9
    answered = 0
    for page, path in ALL:
        if page == "sign-out":
            continue
        answer = client.get(path, **HERE, **token)
        answered += answer.status_code == 200
        assert not [h for h in hidden if h.encode() in answer.content], page
    assert answered > 30


def test_the_interface_answers_with_the_fields_that_are_described_and_no_others(house: None) -> None:
    client, token = inside(Role.READER)
    note(signed_in(Role.HELPER))

    def fields(path: str, name: str) -> set[str]:
        answer = client.get(f"/api/{path}", **HERE, **token)
        rows = json.loads(answer.content)[name]
        assert rows
        return {key for row in rows for key in row}

    assert fields("animals", "animals") == set(COLUMNS["animals"])
    assert fields("animals/F1/entries", "entries") == ENTRY
    assert fields("round?on=2026-01-13", "tasks") == TASK


ENTRY = {"id", *COLUMNS["log"]}
TASK = {"kind", "tag", "with", "tub", "why", "entries", "urgency"}


@pytest.mark.parametrize("role", [Role.HELPER, Role.READER])
def test_whoever_is_no_owner_sees_of_people_only_who_noted_what(house: None, role: Role) -> None:
    client, token = inside(role)
    first_passwords.let_in("Benedikta", Role.READER, "Owner")
    for page, path in ALL:
        if page != "sign-out":
            assert b"Benedikta" not in client.get(path, **HERE, **token).content, page
