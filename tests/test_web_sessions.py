"""Sessions and cookies: they end when they should, and are bound to this host where it has https."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from importlib.resources import files
from unittest import mock

import pytest
from django.contrib.sessions.models import Session
from django.core import signing
from django.test import Client, override_settings

from eggtooth.records import knocks, people, store
from eggtooth.records.people import Role
from eggtooth.web.knocking import SALT
from tests.test_web_doors import PASSWORD, addresses, doors, house, signed_in
from tests.test_web_round_page import HERE, room

__all__ = ["doors", "house", "room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")


def is_in(client: Client) -> bool:
    return client.get("/", **HERE).status_code == 200


def test_signing_out_everywhere_ends_ones_own_sessions_and_no_others(house: None) -> None:
    phone, desk, other = signed_in(Role.READER), signed_in(Role.READER), signed_in(Role.HELPER)
    assert "Sign out on every device" in phone.get("/me", **HERE).content.decode()
    assert phone.post("/sign-out", {"where": "everywhere"}, **HERE)["Location"] == "/sign-in"
    assert not is_in(phone) and not is_in(desk) and is_in(other)
    assert is_in(signed_in(Role.READER))


def test_signing_out_here_leaves_the_other_device(house: None) -> None:
    phone, desk = signed_in(Role.READER), signed_in(Role.READER)
    answer = phone.post("/sign-out", **HERE)
    assert answer["Clear-Site-Data"] == '"cache"'
    assert not is_in(phone) and is_in(desk)


def test_a_session_of_one_who_was_put_out_does_not_come_back(house: None) -> None:
    helper = signed_in(Role.HELPER)
    people.change("Helper", active=False)
    people.change("Helper", active=True)
    assert not is_in(helper)


def test_each_signing_in_has_a_new_session_and_ends_the_one_before(house: None) -> None:
    client = signed_in(Role.READER)
    before = client.cookies["sessionid"].value
    client.post("/sign-in", {"name": "Reader", "password": PASSWORD}, **HERE)
    after = client.cookies["sessionid"].value
    assert before != after and not Session.objects.filter(session_key=before).exists()
    form = {"do": "password", "old": PASSWORD, "new": "another long pass phrase"}
    client.post("/me", form, **HERE)
    assert client.cookies["sessionid"].value != after
    assert not Session.objects.filter(session_key=after).exists() and is_in(client)


def test_a_session_is_random_and_long(house: None) -> None:
    """32 of 36 letters are some 165 bits; 128 are asked for."""
    keys = {signed_in(Role.READER).cookies["sessionid"].value for _ in range(5)}
    assert len(keys) == 5 and all(len(key) == 32 and key.isalnum() for key in keys)


def test_a_mark_of_a_device_signed_with_another_key_is_nothing(house: None) -> None:
    forged = signing.dumps(["Owner", "0" * 32], key="somebody else's", salt=SALT)
    for _ in range(knocks.KNOCKS):
        Client().post("/sign-in", {"name": "Owner", "password": "wrong"}, **HERE)
    client = Client()
    client.cookies["device"] = forged
    assert client.post("/sign-in", {"name": "Owner", "password": PASSWORD}, **HERE).status_code == 429


@pytest.mark.parametrize(("days", "status"), [(364, 302), (366, 429)])
def test_a_mark_of_a_device_ends_after_a_year(house: None, days: int, status: int) -> None:
    for _ in range(knocks.KNOCKS):
        Client().post("/sign-in", {"name": "Owner", "password": "wrong"}, **HERE)
    client, then = Client(), time.time() - days * 24 * 3600
    with mock.patch("django.core.signing.time.time", return_value=then):
        client.cookies["device"] = signing.dumps(["Owner", "0" * 32], salt=SALT)
    assert client.post("/sign-in", {"name": "Owner", "password": PASSWORD}, **HERE).status_code == status


NAMES = """
import json
from eggtooth.records import settings as s
print(json.dumps([s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE, s.SECURE_HSTS_SECONDS]))
"""


@pytest.mark.parametrize(
    ("https", "said"),
    [
        ("1", ["__Host-sessionid", "__Host-csrftoken", True, 31536000]),
        ("0", ["sessionid", "csrftoken", False, 0]),
    ],
)
def test_cookies_are_bound_to_this_host_where_it_has_https(https: str, said: list[object]) -> None:
    environment = os.environ | {"EGGTOOTH_HTTPS": https}
    out = subprocess.run([sys.executable, "-c", NAMES], env=environment, capture_output=True, check=True)
    assert json.loads(out.stdout) == said


def test_the_cookies_sent_over_https_are_those_a_browser_takes_under_their_prefix(house: None) -> None:
    """RFC 6265bis: `__Host-` needs Secure, no Domain and the path /; `__Secure-` needs Secure."""
    names = {"SESSION_COOKIE_NAME": "__Host-sessionid", "CSRF_COOKIE_NAME": "__Host-csrftoken"}
    with override_settings(**names, SESSION_COOKIE_SECURE=True, CSRF_COOKIE_SECURE=True):
        client = Client()
        client.get("/sign-in", secure=True, **HERE)
        client.post("/sign-in", {"name": "Owner", "password": PASSWORD}, secure=True, **HERE)
    assert set(client.cookies) == {"__Host-sessionid", "__Host-csrftoken", "__Secure-device"}
    for name, cookie in client.cookies.items():
        assert cookie["secure"] and not cookie["domain"] and cookie["samesite"] == "Strict"
        assert cookie["path"] == "/" or name == "__Secure-device"


def test_looking_at_pages_changes_nothing_and_no_page_is_for_other_sites(house: None) -> None:
    owner, before = signed_in(Role.OWNER), store.entries()
    for page, path in addresses():
        answer = owner.get(path, HTTP_ORIGIN="https://elsewhere.example", **HERE)
        assert "Access-Control-Allow-Origin" not in answer, page
    assert is_in(owner) and len(people.everyone()) == 3 and store.entries() == before


def test_what_is_no_page_is_not_served(house: None) -> None:
    owner = signed_in(Role.OWNER)
    for path in (
        "/.git/HEAD",
        "/.git/config",
        "/static/.git/HEAD",
        "/static/../records/settings.py",
        "/.env",
    ):
        assert owner.get(path, **HERE).status_code == 404, path


@pytest.mark.parametrize(
    "away",
    ["https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example", "javascript:alert(1)"],
)
def test_the_way_back_never_leads_away(house: None, away: str) -> None:
    owner = signed_in(Role.OWNER)
    entry = {"on": "2026-01-13", "tag": "F1", "kind": "weight", "value": "1900", "back": away}
    for path, form in (("/note/entry", entry | {"key": f"{0:032}"}), ("/work/again", {"back": away})):
        answer = owner.post(path, form, **HERE)
        assert "elsewhere" not in answer.get("Location", "") and "alert" not in answer.get("Location", "")
    assert owner.get("/sign-in?next=" + away, **HERE).get("Location") is None
    came = Client().post("/sign-in?next=" + away, {"name": "Owner", "password": PASSWORD}, **HERE)
    assert came["Location"] == "/"


def test_scripts_put_words_in_as_text_and_run_none() -> None:
    scripts = [p for p in files("eggtooth.web").joinpath("static").iterdir() if p.name.endswith(".js")]
    for script in scripts:
        text = script.read_text(encoding="utf-8")
        for way in ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "Function("):
            assert way not in text, script.name
