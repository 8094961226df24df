"""Wrong tries at the sign-in page: whose they are behind a proxy, and nobody is shut out by strangers."""

from __future__ import annotations

import logging
from threading import Barrier, Thread

import pytest
from django.db import connection
from django.test import Client, RequestFactory

from eggtooth.records import knocks, models, people
from eggtooth.records.people import Role
from eggtooth.web.knocking import visitor
from tests.test_web_doors import PASSWORD, doors, house
from tests.test_web_round_page import HERE, room

__all__ = ["doors", "house", "room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")


@pytest.mark.parametrize(
    ("proxies", "remote", "forwarded", "found"),
    [
        ("", "10.0.0.1", "198.51.100.7", "10.0.0.1"),  # nobody is named: the header is anybody's word
        ("10.0.0.1", "203.0.113.9", "198.51.100.7", "203.0.113.9"),  # past the proxy
        ("10.0.0.1", "10.0.0.1", "198.51.100.7", "198.51.100.7"),
        ("10.0.0.1", "10.0.0.1", "192.0.2.1, 198.51.100.7", "198.51.100.7"),  # the first was forged
        ("10.0.0.0/24", "10.0.0.1", "192.0.2.1, 198.51.100.7, 10.0.0.2", "198.51.100.7"),
        ("10.0.0.1", "10.0.0.1", "", "10.0.0.1"),
        ("10.0.0.1", "10.0.0.1", "192.0.2.1, nonsense", "10.0.0.1"),
        ("10.0.0.1", "::ffff:10.0.0.1", "198.51.100.7", "198.51.100.7"),
        ("::1", "::1", "2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
    ],
)
def test_a_forwarded_address_is_believed_from_named_proxies_only(
    monkeypatch: pytest.MonkeyPatch, proxies: str, remote: str, forwarded: str, found: str
) -> None:
    monkeypatch.setenv("EGGTOOTH_PROXIES", proxies)
    headers = {"HTTP_X_FORWARDED_FOR": forwarded} if forwarded else {}
    assert visitor(RequestFactory().get("/sign-in", REMOTE_ADDR=remote, **headers)) == found


def knock(client: Client, password: str = "wrong", name: str = "Owner", **headers: str) -> int:
    form = {"name": name, "password": password}
    return client.post("/sign-in", form, **HERE, **headers).status_code


def test_one_visitor_behind_a_proxy_does_not_stop_the_others(
    house: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("EGGTOOTH_PROXIES", "127.0.0.1")
    for n in range(4 * knocks.KNOCKS):
        knock(Client(), name=f"guess {n}", HTTP_X_FORWARDED_FOR=f"192.0.2.{n}, 198.51.100.7")
    assert knock(Client(), PASSWORD, HTTP_X_FORWARDED_FOR="198.51.100.7") == 429
    assert knock(Client(), PASSWORD, HTTP_X_FORWARDED_FOR="198.51.100.8") == 302


def test_strangers_cannot_shut_out_a_device_that_is_known(house: None) -> None:
    known = Client()
    assert knock(known, PASSWORD) == 302
    known.post("/sign-out", **HERE)
    for _ in range(knocks.KNOCKS):
        knock(Client())
    assert knock(Client(), PASSWORD) == 429
    assert knock(known, PASSWORD) == 302


def test_a_known_device_has_no_more_tries_and_none_for_another_name(house: None) -> None:
    known = Client()
    knock(known, PASSWORD)
    for _ in range(knocks.KNOCKS):
        assert knock(known) == 403
        assert knock(known, name="Helper") == 403
    assert knock(known, PASSWORD) == 429
    assert knock(known, PASSWORD, name="Helper") == 429
    known.cookies["device"] = "forged"
    assert knock(known, PASSWORD) == 429


def test_failures_and_refusals_are_logged_without_secrets(
    house: None, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.WARNING, "eggtooth.doors")
    client = Client()
    knock(client, name="hunter2\nforged line")
    knock(client, "a wrong secret")
    client.force_login(models.Person.objects.get(name="Reader"))
    client.get("/people", **HERE)
    told = [record.getMessage() for record in caplog.records]
    assert len(told) == 3 and "'Owner'" in told[1] and "'Reader' (reader) may not GET" in told[2]
    assert not any("hunter2" in line or "secret" in line or "\n" in line for line in told)


def demote(name: str, together: Barrier, told: list[str]) -> None:
    try:
        together.wait(10)
        people.change(name, role=Role.READER)
    except ValueError as refused:
        told.append(str(refused))
    finally:
        connection.close()


@pytest.mark.parametrize("turn", range(5))
def test_two_owners_who_demote_each_other_leave_one(house: None, turn: int) -> None:
    """Each thread has a connection of its own: SQLite, or PostgreSQL where the tests run over it."""
    people.add("Second", Role.OWNER, PASSWORD)
    together, told = Barrier(2), list[str]()
    threads = [Thread(target=demote, args=(name, together, told)) for name in ("Owner", "Second")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(people.owners()) == 1
    assert len(told) == 1 and "is the last owner" in told[0]
