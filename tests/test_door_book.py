"""The door book: who changed people and their keys, who was turned away; only added to, without secrets."""

from __future__ import annotations

import csv
import html
import io
import re
from datetime import timedelta
from threading import Thread

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.utils import timezone

from eggtooth.jobs.take_out import texts
from eggtooth.records import door_book, first_passwords, models, people
from eggtooth.records.door_book import Did, write_turned_away
from eggtooth.records.people import Purpose, Role
from eggtooth.web.door_book_page import SAID
from tests.test_web_doors import PASSWORD, doors, house, signed_in
from tests.test_web_round_page import HERE, room

__all__ = ["doors", "house", "room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")


def book(**asked: str) -> str:
    answer = signed_in(Role.OWNER).get("/people/book", asked, **HERE)
    assert answer.status_code == 200
    text: str = answer.content.decode()
    return html.unescape(text)


def lines(**asked: str) -> list[str]:
    """The lines of the page, the newest first, without marks and the hour."""
    found = re.findall(r"<li><span>(.*?)</span></li>", book(**asked), re.S)
    words = [" ".join(re.sub(r"<[^>]*>", " ", line).split()) for line in found]
    return [re.sub(r" ?,? \d+ \w+ \d{4} \d\d:\d\d UTC$", "", line) for line in words]


def test_each_change_is_a_line_with_who_made_it(house: None) -> None:
    owner = signed_in(Role.OWNER)
    for form in (
        {"do": "add", "name": "Ben", "role": "helper"},
        {"do": "role", "name": "Ben", "role": "reader"},
        {"do": "password", "name": "Ben"},
        {"do": "out", "name": "Ben"},
        {"do": "in", "name": "Ben"},
    ):
        assert owner.post("/people", form, **HERE).status_code in (200, 302)
    assert lines()[:6] == [
        "Ben is let in again by Owner",
        "Ben is let in no longer; sessions, tokens and calendar address ended by Owner",
        "Ben was given a first password by Owner",
        "Ben was given the role reader by Owner",
        "Ben was given a first password by Owner",
        "Ben was let in as helper by Owner",
    ]
    assert lines()[-1] == "Owner was let in as owner at the machine itself"


def test_ones_own_keys_are_lines_too(house: None) -> None:
    reader = signed_in(Role.READER)
    for form in (
        {"do": "token", "label": "scale"},
        {"do": "calendar"},
        {"do": "calendar"},
        {"do": "no calendar"},
        {"do": "password", "old": PASSWORD, "new": "another long pass phrase"},
    ):
        assert reader.post("/me", form, **HERE).status_code == 200
    key = people.secrets_of("Reader", Purpose.INTERFACE)[0][0]
    reader.post("/me", {"do": "no token", "key": str(key)}, **HERE)
    reader.post("/sign-out", {"where": "everywhere"}, **HERE)
    assert lines(only="changes")[:8] == [
        "Reader signed out on every device by Reader",
        "a token of Reader ended: scale by Reader",
        "Reader chose a password by Reader",
        "the calendar address of Reader ended by Reader",
        "Reader has a new calendar address by Reader",
        "the calendar address of Reader ended by Reader",
        "Reader has a new calendar address by Reader",
        "Reader has a new token: scale by Reader",
    ]


def test_whoever_is_turned_away_is_a_line_without_what_they_typed(house: None) -> None:
    stranger = Client()
    stranger.post("/sign-in", {"name": "hunter2", "password": "x"}, **HERE)
    stranger.post("/sign-in", {"name": "Owner", "password": "a wrong secret"}, **HERE)
    signed_in(Role.READER).get("/people", **HERE)
    page = book(only="away")
    assert "hunter2" not in page and "a wrong secret" not in page
    assert lines(only="away") == [
        "Turned away Reader may not do this: GET people from 127.0.0.1",
        "Turned away Name or password was wrong: Owner from 127.0.0.1",
        "Turned away Name or password was wrong: a name not known here from 127.0.0.1",
    ]
    assert not any(line.startswith("Turned away") for line in lines(only="changes"))


def test_no_secret_stands_in_it(house: None) -> None:
    secrets = [first_passwords.let_in("Ben", Role.HELPER, "Owner").password]
    secrets += [people.make_secret("Helper", purpose, "scale") for purpose in Purpose]
    rows = [str(row) for row in models.DoorNote.objects.values_list()]
    kept = [*models.Secret.objects.values_list("digest", flat=True)]
    kept += models.Person.objects.values_list("password", flat=True)
    assert len(rows) >= 7
    for text in [*rows, book(), texts()["door.csv"]]:
        assert not [s for s in (*secrets, *kept, PASSWORD) if s in text]


def test_a_change_and_its_line_are_kept_together_or_not_at_all(
    house: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = people.everyone(), len(door_book.whole())

    def full(**said: object) -> None:
        raise DatabaseError("the disk is full")

    monkeypatch.setattr(models.DoorNote.objects, "create", full)
    for change in (
        lambda: people.change("Helper", role=Role.OWNER),
        lambda: people.change("Helper", active=False),
        lambda: first_passwords.renew("Helper"),
        lambda: first_passwords.let_in("Ben", Role.OWNER),
        lambda: people.make_secret("Helper", Purpose.INTERFACE),
    ):
        with pytest.raises(DatabaseError):
            change()
    assert (people.everyone(), len(door_book.whole())) == before
    assert not models.Secret.objects.exists()
    assert models.Person.objects.get(name="Helper").check_password(PASSWORD)


@pytest.mark.parametrize(
    "statement", ["UPDATE records_doornote SET by_whom = 'x'", "DELETE FROM records_doornote"]
)
def test_no_line_is_changed_or_taken_out(house: None, statement: str) -> None:
    with pytest.raises(DatabaseError, match="only added to"), transaction.atomic(), connection.cursor() as c:
        c.execute(statement)
    with pytest.raises(TypeError, match="only added"):
        models.DoorNote.objects.all().delete()
    line = models.DoorNote.objects.earliest("id")
    line.by = "somebody else"
    with pytest.raises(TypeError, match="only added"):
        line.save()


def test_a_stranger_cannot_fill_the_disk(house: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(door_book, "MOST_TURNED_AWAY", 10)
    for n in range(30):
        Client().post("/sign-in", {"name": f"guess {n}", "password": "x"}, REMOTE_ADDR=f"192.0.2.{n}", **HERE)
    found = door_book.latest(turned_away=True)
    assert len(found) == 11 and found[0].did == Did.NO_MORE
    assert "the server's own output tells it" in book()
    first_passwords.let_in("Ben", Role.HELPER, "Owner")  # changes are written all the same
    assert door_book.latest(turned_away=False)[0].did == Did.FIRST_PASSWORD


def test_many_at_once_write_hardly_more(house: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each thread has a connection of its own: SQLite, or PostgreSQL where the tests run over it."""
    monkeypatch.setattr(door_book, "MOST_TURNED_AWAY", 10)

    def try_on() -> None:
        try:
            for _ in range(8):
                write_turned_away(Did.WRONG, "192.0.2.1")
        finally:
            connection.close()

    threads = [Thread(target=try_on) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [line.did for line in door_book.latest(turned_away=True)] == [Did.NO_MORE, *[Did.WRONG] * 10]


def test_the_next_day_it_is_written_again(house: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(door_book, "MOST_TURNED_AWAY", 3)
    for _ in range(9):
        write_turned_away(Did.WRONG, "192.0.2.1")
    tomorrow = timezone.now() + timedelta(days=1)
    monkeypatch.setattr(door_book.timezone, "now", lambda: tomorrow)
    written = models.DoorNote.objects.count()
    write_turned_away(Did.WRONG, "192.0.2.1")
    assert models.DoorNote.objects.count() == written + 1


def test_a_page_stays_refused_where_nothing_can_be_written(
    house: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    reader = signed_in(Role.READER)

    def full(**said: object) -> None:
        raise DatabaseError("attempt to write a readonly database")

    monkeypatch.setattr(models.DoorNote.objects, "create", full)
    answer = reader.get("/people", **HERE)
    assert answer.status_code == 403 and "is for the owner" in answer.content.decode()


def test_older_lines_are_a_page_further(house: None) -> None:
    for n in range(130):
        people.make_secret("Helper", Purpose.INTERFACE, f"probe {n}")
    page = book(only="changes")
    assert "probe 129" in page and "probe 30" in page and "probe 29<" not in page
    onward = re.search(r'href="\?only=changes&before=(\d+)"', page)
    assert onward
    rest = book(only="changes", before=onward[1])
    assert "probe 29" in rest and "probe 0" in rest and "probe 30" not in rest
    for odd in ("-1", "x", "9" * 40, "²"):
        assert "probe 129" in book(before=odd)
    assert "probe 129" in book(only="nothing we know")


@pytest.mark.parametrize("role", [Role.HELPER, Role.READER])
def test_it_is_the_owners(house: None, role: Role) -> None:
    assert signed_in(role).get("/people/book", **HERE).status_code == 403


def test_every_kind_of_line_has_its_words() -> None:
    assert set(SAID) == set(Did)


def test_an_export_carries_it(house: None) -> None:
    people.change("Helper", role=Role.READER, by="Owner")
    rows = list(csv.DictReader(io.StringIO(texts()["door.csv"])))
    assert len(rows) == len(door_book.whole()) == 4
    assert list(rows[-1]) == ["at", "did", "by", "whom", "what", "address"]
    assert (rows[-1]["did"], rows[-1]["by"], rows[-1]["whom"]) == ("role given", "Owner", "Helper")
