"""Who comes in and how far: strangers, readers, helpers and owners at every address of the site."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver
from django.utils import timezone

from eggtooth.records import knocks, models, people, store
from eggtooth.records.people import Purpose, Role
from eggtooth.web.doors import NOTING, OWNERS, READERS_OWN, right_for
from tests.test_web_round_page import HERE, room

__all__ = ["room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")
PASSWORD = "a long enough pass phrase"
FILLED = {
    "tag": "F1", "name": "A-2-1", "key": "0" * 32, "form": "json", "dam": "F1", "day": "2026-01-01",
}  # fmt: skip


@pytest.fixture(autouse=True)
def doors(monkeypatch: pytest.MonkeyPatch, settings: object) -> None:
    """The doors are shut, and hashing is quick: its strength is the framework's and not tried here."""
    monkeypatch.setenv("EGGTOOTH_SIGN_IN", "1")
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # type: ignore[attr-defined]


@pytest.fixture
def house() -> None:
    """One person of each role."""
    for role in Role:
        people.add(role.value.capitalize(), role, PASSWORD)


def signed_in(role: Role) -> Client:
    client = Client()
    answer = client.post("/sign-in", {"name": role.value.capitalize(), "password": PASSWORD}, **HERE)
    assert answer.status_code == 302 and answer["Location"] == "/"
    return client


def inside(role: Role) -> tuple[Client, dict[str, str]]:
    """A session of a role, and the header of its token, which alone opens the http interface."""
    person = models.Person.objects.get(role=role.value)
    client, secret = Client(), people.make_secret(person.name, Purpose.INTERFACE)
    client.force_login(person)
    return client, {"HTTP_AUTHORIZATION": f"Bearer {secret}"}


def addresses(resolver: URLResolver | None = None, at: str = "/") -> Iterator[tuple[str, str]]:
    """Every address of the site by the name of its page, its parts filled in."""
    for found in (resolver or get_resolver()).url_patterns:
        path = at + re.sub(r"<(?:\w+:)?(\w+)>", lambda m: FILLED.get(m[1], "1"), str(found.pattern))
        if isinstance(found, URLPattern):
            yield str(found.name or ""), path
        else:
            yield from addresses(found, path)


ALL = sorted(addresses())


@pytest.mark.parametrize(("page", "path"), ALL)
@pytest.mark.parametrize("method", ["get", "post", "head", "put", "delete", "options"])
def test_a_stranger_gets_the_sign_in_page_and_nothing_else(page: str, path: str, method: str) -> None:
    answer = getattr(Client(), method)(path, **HERE)
    if page == "sign-in":
        assert answer.status_code in (200, 403, 405)
        return
    assert (answer.status_code == 302 and answer["Location"] == "/sign-in") or answer.status_code == 401
    assert b"F1" not in answer.content


@pytest.mark.parametrize(
    "path", ["/nowhere", "/animal/", "/static/../store", "/calendar/x.ics", "/api/", "//", "/%00"]
)
def test_a_stranger_does_not_learn_which_addresses_there_are(path: str) -> None:
    answer = Client().get(path, **HERE)
    assert answer.status_code in (302, 401) and answer.get("Location", "/sign-in") == "/sign-in"


def test_the_sign_in_page_tells_nothing_of_the_house(house: None) -> None:
    page = Client().get("/sign-in", **HERE).content.decode()
    assert "Owner" not in page and "F1" not in page and "/records" not in page


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize(("page", "path"), ALL)
def test_each_role_reads_as_far_as_it_goes(house: None, role: Role, page: str, path: str) -> None:
    client, token = inside(role)
    answer = client.get(path, **HERE, **token)
    if page in OWNERS and role is not Role.OWNER:
        assert answer.status_code == 403 and "is for the owner" in answer.content.decode()
    else:
        assert answer.status_code in (200, 302, 400, 404, 405, 422), answer.content.decode()[:300]


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize(("page", "path"), ALL)
def test_each_role_changes_as_far_as_it_goes(house: None, role: Role, page: str, path: str) -> None:
    if page == "sign-in":
        return
    client, token = inside(role)
    may = role is Role.OWNER or (role is Role.HELPER and page in NOTING) or page in READERS_OWN
    answer = client.post(path, {}, **HERE, **token)
    if page == "calendar":  # opened by its own secret alone; nobody's session reaches it
        assert answer["Location"] == "/sign-in"
        return
    assert (answer.status_code != 403) == may, answer.content.decode()[:300]


def test_a_page_nobody_thought_of_is_the_owners_to_change() -> None:
    assert right_for("anything new", "POST") is Role.OWNER


def note(client: Client) -> str:
    form = {"key": uuid4().hex, "on": "2026-01-13", "tag": "F1", "kind": "weight", "value": "1900"}
    answer = client.post("/note/entry", form, HTTP_ACCEPT="application/json", **HERE)
    assert answer.status_code == 200
    return str(answer.json()["kept"])


def test_entries_bear_the_name_of_whoever_noted_them(house: None) -> None:
    note(signed_in(Role.HELPER))
    assert store.entries()[-1].by == "Helper"


def test_a_helper_takes_back_their_own_and_the_owner_anybodys(house: None) -> None:
    helper, owner = signed_in(Role.HELPER), signed_in(Role.OWNER)
    own, others = note(helper), note(owner)
    assert helper.post("/undo", {"id": own}, **HERE).status_code == 302
    refused = helper.post("/undo", {"id": others}, **HERE)
    assert refused.status_code == 400 and "noted by Owner" in refused.content.decode()
    assert owner.post("/undo", {"id": others}, **HERE).status_code == 302


def test_after_five_wrong_passwords_even_the_right_one_waits(house: None) -> None:
    client = Client()
    for _ in range(knocks.KNOCKS):
        assert client.post("/sign-in", {"name": "Owner", "password": "wrong"}, **HERE).status_code == 403
    assert client.post("/sign-in", {"name": "Owner", "password": PASSWORD}, **HERE).status_code == 429
    models.Knock.objects.update(at=timezone.now() - knocks.WITHIN - timedelta(seconds=1))
    assert client.post("/sign-in", {"name": "Owner", "password": PASSWORD}, **HERE).status_code == 302


def test_one_address_cannot_try_many_names(house: None) -> None:
    client = Client()
    for n in range(4 * knocks.KNOCKS):
        client.post("/sign-in", {"name": f"guess {n}", "password": "x"}, **HERE)
    assert client.post("/sign-in", {"name": "Owner", "password": PASSWORD}, **HERE).status_code == 429


def test_a_form_from_elsewhere_is_refused(house: None) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(models.Person.objects.get(name="Owner"))
    form = {"key": uuid4().hex, "on": "2026-01-13", "tag": "F1", "kind": "weight", "value": "1"}
    assert client.post("/note/entry", form, **HERE).status_code == 403


def test_signing_out_ends_the_session_on_the_server(house: None) -> None:
    client = signed_in(Role.OWNER)
    cookie = client.cookies["sessionid"].value
    client.post("/sign-out", **HERE)
    client.cookies["sessionid"] = cookie
    assert client.get("/", **HERE)["Location"] == "/sign-in"


def test_a_session_begun_before_signing_in_is_not_taken_over(house: None) -> None:
    client = Client()
    client.cookies["sessionid"] = "known-to-somebody-else"
    client.post("/sign-in", {"name": "Owner", "password": PASSWORD}, **HERE)
    assert client.cookies["sessionid"].value != "known-to-somebody-else"


def test_a_person_put_out_is_out_at_once(house: None) -> None:
    helper, owner = signed_in(Role.HELPER), signed_in(Role.OWNER)
    token = people.make_secret("Helper", Purpose.INTERFACE)
    owner.post("/people", {"do": "out", "name": "Helper"}, **HERE)
    assert helper.get("/", **HERE)["Location"] == "/sign-in"
    assert people.by_secret(token, Purpose.INTERFACE) is None


def test_a_new_password_ends_other_sessions(house: None) -> None:
    here, there = signed_in(Role.READER), signed_in(Role.READER)
    form = {"do": "password", "old": PASSWORD, "new": "another long pass phrase"}
    assert here.post("/me", form, **HERE).status_code == 200
    assert here.get("/", **HERE).status_code == 200
    assert there.get("/", **HERE).status_code == 302


@pytest.mark.parametrize(
    ("form", "told"),
    [
        ({"do": "add", "name": "Owner", "role": "helper"}, "has a key already"),
        ({"do": "add", "name": "", "role": "helper"}, "the name is missing"),
        ({"do": "add", "name": "New", "role": "king"}, "'king' is not a role"),
        ({"do": "password", "name": "Nobody"}, "has no key here"),
        ({"do": "role", "name": "Owner", "role": "reader"}, "the last owner"),
        ({"do": "out", "name": "Owner"}, "the last owner"),
        ({"do": "out", "name": "Nobody"}, "has no key here"),
        ({"do": "sing"}, "nothing that can be done"),
    ],
)
def test_people_that_cannot_be_are_refused(house: None, form: dict[str, str], told: str) -> None:
    answer = signed_in(Role.OWNER).post("/people", form, **HERE)
    assert answer.status_code == 400 and told in html.unescape(answer.content.decode())
    assert [(p.name, p.role) for p in people.everyone()] == [(r.value.capitalize(), r) for r in sorted(Role)]
    assert len(people.everyone()) == 3


def test_a_secret_is_shown_once_and_only_its_digest_is_kept(house: None) -> None:
    client = signed_in(Role.READER)
    page = client.post("/me", {"do": "token", "label": "scale"}, **HERE).content.decode()
    found = re.search(r"The token</b> <code>([\w-]+)</code>", page)
    assert found and people.by_secret(found[1], Purpose.INTERFACE) == people.Keeper("Reader", Role.READER)
    assert found[1] not in client.get("/me", **HERE).content.decode()
    assert not models.Secret.objects.filter(digest=found[1]).exists()


def test_a_renewed_calendar_address_ends_the_old_one(house: None) -> None:
    old = people.make_secret("Owner", Purpose.CALENDAR)
    new = people.make_secret("Owner", Purpose.CALENDAR)
    assert people.by_secret(old, Purpose.CALENDAR) is None
    assert people.by_secret(new, Purpose.CALENDAR) is not None
    assert people.by_secret(new, Purpose.INTERFACE) is None


def test_cookies_and_headers_are_strict(house: None) -> None:
    client = signed_in(Role.OWNER)
    cookie = client.cookies["sessionid"]
    assert cookie["httponly"] and cookie["samesite"] == "Strict"
    answer = client.get("/", **HERE)
    assert (
        "default-src 'none'" in answer["Content-Security-Policy"]
        and "unsafe" not in answer["Content-Security-Policy"]
    )
    assert answer["X-Content-Type-Options"] == "nosniff" and answer["X-Frame-Options"] == "DENY"
    assert answer["Referrer-Policy"] == "same-origin" and answer["Cache-Control"] == "no-store"


def test_another_name_in_the_address_is_refused(house: None) -> None:
    assert Client().get("/sign-in", HTTP_HOST="elsewhere.example").status_code == 400
