"""First passwords: random, short-lived, and changed by the person before any other page opens (V6.4.1)."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from eggtooth.cli import main
from eggtooth.records import first_passwords, knocks, models, people
from eggtooth.records.people import Purpose, Role
from tests.test_web_doors import ALL, PASSWORD, doors, house, signed_in
from tests.test_web_round_page import HERE, room

__all__ = ["doors", "house", "room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")
OWN = "four words of my own"
SHOWN = re.compile(r'<code class="first">([^<]+)</code>')


def first_of(page: str) -> str:
    found = SHOWN.search(page)
    assert found, page
    return found[1]


def let_in(role: Role, name: str = "New") -> str:
    """An owner lets somebody in at the page; the first password shown."""
    answer = signed_in(Role.OWNER).post("/people", {"do": "add", "name": name, "role": role.value}, **HERE)
    assert answer.status_code == 200
    return first_of(answer.content.decode())


def comes(password: str, name: str = "New") -> tuple[Client, str]:
    """A browser that has signed in, and where it was led."""
    client = Client()
    answer = client.post("/sign-in", {"name": name, "password": password}, **HERE)
    return client, answer.get("Location", "") or html.unescape(answer.content.decode())


def choose(client: Client, old: str, new: str = OWN) -> tuple[int, str]:
    answer = client.post("/first-password", {"old": old, "new": new}, **HERE)
    return answer.status_code, html.unescape(answer.content.decode())


@pytest.mark.parametrize("role", Role)
def test_whoever_is_let_in_chooses_a_password_before_any_page_opens(house: None, role: Role) -> None:
    first = let_in(role)
    client, led = comes(first)
    assert led == "/first-password"
    for page, path in ALL:
        if page in ("first-password", "sign-in", "sign-out"):
            continue
        for method in ("get", "post"):
            answer = getattr(client, method)(path, **HERE)
            away = answer.status_code == 302 and answer["Location"] in ("/first-password", "/sign-in")
            assert away or answer.status_code == 401, (page, method)
            assert b"F1" not in answer.content
    status, page = choose(client, first)
    assert status == 302, page
    assert client.get("/", **HERE).status_code == 200
    owners = client.get("/people", **HERE).status_code
    assert owners == (200 if role is Role.OWNER else 403)
    assert comes(first)[1].count("Name or password is wrong") == 1
    assert comes(OWN)[1] == "/"


@pytest.mark.parametrize("role", Role)
def test_a_new_password_by_an_owner_is_a_first_one_again(house: None, role: Role) -> None:
    people.add("Second", Role.OWNER, PASSWORD)
    name, theirs = role.value.capitalize(), signed_in(role)
    owner = Client()
    owner.post("/sign-in", {"name": "Second", "password": PASSWORD}, **HERE)
    answer = owner.post("/people", {"do": "password", "name": name}, **HERE)
    first = first_of(answer.content.decode())
    assert theirs.get("/", **HERE)["Location"] == "/sign-in"
    assert "wrong" in comes(PASSWORD, name)[1]
    client, led = comes(first, name)
    assert led == "/first-password"
    assert client.get("/", **HERE)["Location"] == "/first-password"
    assert choose(client, first)[0] == 302
    assert client.get("/", **HERE).status_code == 200


def test_it_is_random_long_and_shown_once(house: None) -> None:
    made = {first_passwords.let_in(f"Person {n}", Role.READER).password for n in range(20)}
    assert len(made) == 20
    letters = first_passwords.LETTERS
    for password in made:
        parts = password.split("-")
        assert [len(p) for p in parts] == [5] * 4 and set("".join(parts)) <= set(letters)
    assert len(set(letters)) == len(letters) == 31  # 31 ** 20 is some 99 bits
    first = let_in(Role.HELPER)
    assert first not in signed_in(Role.OWNER).get("/people", **HERE).content.decode()
    row = models.Person.objects.get(name="New")
    assert first not in row.password and row.check_password(first)
    assert not models.DoorNote.objects.filter(what__contains=first[:5]).exists()


def test_it_ends_after_a_week(house: None) -> None:
    first = let_in(Role.HELPER)
    until = models.Person.objects.get(name="New").first_until
    assert until and abs(until - timezone.now() - timedelta(days=7)) < timedelta(minutes=1)
    client, _ = comes(first)
    models.Person.objects.filter(name="New").update(first_until=timezone.now() - timedelta(seconds=1))
    assert "has ended; ask an owner for another" in comes(first)[1]
    assert client.get("/", **HERE)["Location"] == "/sign-in"  # nor does a session begun in time
    assert choose(client, first) == (302, "")
    assert models.Person.objects.get(name="New").check_password(first)
    assert (
        "Name or password is wrong" in comes("a guess of a stranger")[1]
    )  # tells nothing to one who guesses


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("FIRST", "FIRST", "the password you were given; choose another"),
        ("FIRST", "short", "too short"),
        ("a wrong one", OWN, "present password is wrong"),
        ("FIRST", "Sunshine 1234", "too common"),
    ],
)
def test_what_cannot_be_chosen(house: None, old: str, new: str, told: str) -> None:
    first = let_in(Role.READER)
    client, _ = comes(first)
    status, page = choose(client, old.replace("FIRST", first), new.replace("FIRST", first))
    assert status == 400 and told in page
    assert client.get("/", **HERE)["Location"] == "/first-password"


def test_tokens_and_calendar_rest_until_a_password_is_chosen(house: None) -> None:
    token, calendar = (people.make_secret("Helper", p) for p in (Purpose.INTERFACE, Purpose.CALENDAR))
    opens = {"HTTP_AUTHORIZATION": f"Bearer {token}"}
    first = first_passwords.renew("Helper").password
    assert Client().get("/api/animals", **HERE, **opens).status_code == 401
    assert Client().get(f"/calendar/{calendar}.ics", **HERE)["Location"] == "/sign-in"
    client, _ = comes(first, "Helper")
    assert client.get("/api/animals", **HERE, **opens).status_code == 401
    assert choose(client, first)[0] == 302
    assert Client().get("/api/animals", **HERE, **opens).status_code == 200
    assert Client().get(f"/calendar/{calendar}.ics", **HERE).status_code == 200


def test_a_script_is_told_and_keeps_what_waits(house: None) -> None:
    """401 is what the page's script takes as: keep it until somebody has signed in."""
    client, _ = comes(let_in(Role.HELPER))
    answer = client.post("/note/entry", {}, HTTP_ACCEPT="application/json", **HERE)
    assert answer.status_code == 401 and answer.json() == {"detail": "choose a password first"}


def test_signing_out_works_before_a_password_is_chosen(house: None) -> None:
    first = let_in(Role.HELPER)
    phone, desk = comes(first)[0], comes(first)[0]
    assert phone.post("/sign-out", {"where": "everywhere"}, **HERE)["Location"] == "/sign-in"
    for client in (phone, desk):
        assert client.get("/first-password", **HERE)["Location"] == "/sign-in"


def test_whoever_has_a_password_is_led_to_where_it_is_changed(house: None) -> None:
    assert signed_in(Role.READER).get("/first-password", **HERE)["Location"] == "/me"


def test_an_owner_changes_their_own_at_their_own_page(house: None) -> None:
    owner = signed_in(Role.OWNER)
    assert "New first password for Owner" not in owner.get("/people", **HERE).content.decode()
    refused = owner.post("/people", {"do": "password", "name": "Owner"}, **HERE)
    assert refused.status_code == 400 and "changed at My keys" in refused.content.decode()
    assert owner.get("/", **HERE).status_code == 200


def test_an_owner_who_has_yet_to_choose_is_not_the_one_that_must_remain(house: None) -> None:
    first_passwords.let_in("Second", Role.OWNER)
    with pytest.raises(ValueError, match="last owner"):
        people.change("Owner", role=Role.READER)
    people.set_password("Second", OWN, "Second")
    people.change("Owner", role=Role.READER)
    first_passwords.renew("Second")  # at the machine itself, when the only one forgot
    people.change("Helper", active=False)
    with pytest.raises(ValueError, match="last owner"):
        people.change("Second", active=False)


def test_an_owner_whose_first_password_has_ended_may_not_come_in(house: None) -> None:
    first_passwords.let_in("Second", Role.OWNER)
    assert people.owners() == ["Owner", "Second"]
    models.Person.objects.filter(name="Second").update(first_until=timezone.now())
    assert people.owners() == ["Owner"]
    first_passwords.renew("Second")
    assert people.owners() == ["Owner", "Second"]


def test_a_session_left_open_is_no_place_to_guess_the_password(house: None) -> None:
    client, elsewhere = signed_in(Role.READER), signed_in(Role.READER)
    form = {"do": "password", "old": "guess", "new": OWN}
    for _ in range(knocks.KNOCKS):
        assert "present password is wrong" in client.post("/me", form, **HERE).content.decode()
    right = client.post("/me", form | {"old": PASSWORD}, **HERE)
    assert right.status_code == 400 and "Too many wrong tries" in right.content.decode()
    assert elsewhere.post("/me", form | {"old": PASSWORD}, **HERE).status_code == 200  # counted alone


def test_by_command_the_first_owner_chooses_and_the_others_are_given(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    import io
    import sys

    monkeypatch.setattr(sys, "stdin", io.StringIO(f"{PASSWORD}\n"))
    assert main(["people", "add", "Ada", "--role", "owner"]) == 0
    assert "First password" not in capsys.readouterr().out
    assert comes(PASSWORD, "Ada")[1] == "/"
    for command in (["add", "Ben"], ["add", "Cy", "--role", "owner"], ["password", "Ada"]):
        assert main(["people", *command]) == 0
        told = re.search(rf"First password of {command[1]}: ([\w-]+)\n", capsys.readouterr().out)
        assert told and comes(told[1], command[1])[1] == "/first-password"
    assert main(["people", "list"]) == 0
    assert capsys.readouterr().out.count("has yet to choose a password") == 3
