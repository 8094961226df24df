"""The room, a tub, a weighing and a feeding, over a real store: what they show, keep and refuse."""

from __future__ import annotations

import html
import re
from datetime import date
from uuid import uuid4

import pytest
from django.test import Client

from eggtooth.engine.entries import Kind, Prey
from eggtooth.engine.rounds import Todo
from eggtooth.jobs.day import day
from eggtooth.records import store
from tests.test_web_round_page import HERE, client, entry, room

__all__ = ["client", "room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")
ON = "2026-01-13"


def page(client: Client, path: str) -> str:
    answer = client.get(path, {"on": ON}, **HERE)
    assert answer.status_code == 200
    return answer.content.decode()


def note(client: Client, **said: str) -> tuple[int, str]:
    form = {"key": uuid4().hex, "on": ON, "tag": "F1", "kind": "weight", "value": "", "detail": ""} | said
    answer = client.post("/note/entry", form, HTTP_ACCEPT="application/json", **HERE)
    return answer.status_code, answer.content.decode()


def test_room_draws_each_tub_once_with_guest_and_what_is_due(client: Client) -> None:
    html = page(client, "/room")
    assert html.count('href="/tub/') == 3
    assert 'aria-label="A-2-1: F1 with M1; check for lock' in html


def test_tub_shows_its_own_lines_only(client: Client) -> None:
    html = page(client, "/tub/A-2-1")
    assert "check for lock" in html and 'aria-label="grams of F1"' in html and "grams of M1" in html
    assert "grams of F2" not in html


def test_tub_that_is_none_is_told(client: Client) -> None:
    assert client.get("/tub/nowhere", **HERE).status_code == 400
    assert "Nobody sits here" in page(client, "/tub/Z-9-9")


def test_an_entry_is_kept_as_written_and_a_hurried_tag_is_understood(client: Client) -> None:
    assert note(client, tag=" f1 ", kind="meal", value="2", detail="medium rat 90g")[0] == 200
    kept = store.entries_on(date(2026, 1, 13))[-1]
    assert (kept.tag, kept.kind, kept.value) == ("F1", Kind.MEAL, 2)


def test_a_weight_is_told_beside_the_last_one(client: Client) -> None:
    assert "(+25 g since 10 Jan)" in note(client, value="1925")[1]
    assert "look again" in note(client, value="192.5")[1]


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"tag": "FI", "value": "1"}, "tag: FI is not an animal here; did you mean F1?"),
        ({"kind": "weigth", "value": "1"}, "did you mean weight?"),
        ({"value": "heavy"}, "is not a number"),
        ({"kind": "lock", "detail": "M9"}, "detail: M9 is not an animal here"),
        ({"kind": "sign", "detail": "glowing"}, "did you mean glow?"),
        ({"key": "7", "value": "1"}, "badly formed"),
        ({"on": "2207-13-01", "value": "1"}, "is not a date"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(
    client: Client, said: dict[str, str], told: str
) -> None:
    before = len(store.entries())
    status, text = note(client, **said)
    assert status == 400 and told in text
    assert len(store.entries()) == before


def test_feeding_refuses_a_number_no_snake_eats(client: Client) -> None:
    form = {"on": ON, "ate-F1": "ten", "key-F1": uuid4().hex}
    answer = client.post("/feeding", form, **HERE)
    assert answer.status_code == 400 and "F1: &#x27;ten&#x27;" not in answer.content.decode()
    assert "is not a number of prey items" in answer.content.decode()


def test_feeding_noted_twice_is_kept_once(client: Client) -> None:
    form = {"on": ON, "ate-F1": "2", "key-F1": uuid4().hex}
    for _ in range(2):
        assert client.post("/feeding", form, **HERE).status_code == 302
    assert [e.value for e in store.entries_on(date(2026, 1, 13)) if e.kind is Kind.MEAL] == [2]


def test_scale_lists_who_is_due_and_what_was_weighed(client: Client) -> None:
    store.add_entries([entry(ON, "F2", Kind.WEIGHT, 1912)])
    assert "F2 1912 g" in page(client, "/scale")


def test_back_leads_nowhere_else(client: Client) -> None:
    form = {"key": uuid4().hex, "on": ON, "tag": "F1", "kind": "shed", "back": "//elsewhere.example/"}
    assert client.post("/note/entry", form, **HERE)["Location"] == "/"


def test_all_pages_answer(client: Client) -> None:
    import re

    html = client.get("/all", **HERE).content.decode()
    links = re.findall(r'<li><a href="([^"]+)"', html)
    assert len(links) >= 6
    for link in links:
        assert client.get(link, **HERE).status_code == 200, link


@pytest.mark.parametrize(
    "read", ["http://192.168.1.5:8000/tub/A-2-1", "https://house.example/tub/A-2-1", "/tub/A%2D2-1", "A-2-1"]
)
def test_a_label_read_by_a_scanner_is_the_animal_whose_tub_it_is(client: Client, read: str) -> None:
    """M1 sits in her tub tonight: the tub is hers all the same."""
    status, _ = note(client, tag=read, value="1905")
    assert status == 200 and store.entries_on(date.fromisoformat(ON))[-1].tag == "F1"


def test_a_label_of_no_tub_or_of_several_is_told(client: Client) -> None:
    assert note(client, tag="http://x/tub/Z-9-9", value="900") == (
        400,
        "tag: Z-9-9 is nobody's tub; type the animal's tag",
    )
    store.add_entries([entry(ON, "F2", Kind.MOVED, None, "A-2-1")])
    status, why = note(client, tag="/tub/A-2-1", value="900")
    assert status == 400 and "holds F1, F2" in why


def test_who_is_due_is_one_tap_from_the_scale(client: Client) -> None:
    store.add_entries([entry("2025-09-01", "F2", Kind.WEIGHT, 1500)])
    assert 'value="F2" data-first' in client.get("/scale", {"on": ON, "tag": "F2"}, **HERE).content.decode()
    for tag in re.findall('data-fill="([^"]*)"', page(client, "/scale")):
        assert tag in store.colony().animals


def test_a_tubs_page_offers_the_prey_that_is_due_or_was_last(client: Client) -> None:
    chosen = re.findall(
        r'name="detail" aria-label="prey for (\w+)"><option value="([^"]*)"', page(client, "/tub/A-1-1")
    )
    (due,) = [
        t.prey for t in day(date.fromisoformat(ON)).round.tasks if t.tag == "M1" and t.todo is Todo.FEED
    ] or [""]
    assert chosen == [("M1", due)]
    store.add_entries([entry(ON, "M1", Kind.MEAL, 1, None)._replace(detail=Prey("rat pup"))])
    assert 'aria-label="prey for M1"><option value="rat pup"' in page(client, "/tub/A-1-1")


def test_a_meal_of_a_tubs_page_keeps_its_prey(client: Client) -> None:
    status, _ = note(client, kind="meal", value="2", detail="small rat")
    assert status == 200 and store.entries_on(date.fromisoformat(ON))[-1].detail == Prey("small rat")


def test_a_rack_fed_is_told_where_the_page_begins(client: Client) -> None:
    keys = {f"key-{t}": uuid4().hex for t in ("F1", "F2")}
    client.post("/feeding", {"on": ON, "ate-F1": "1", "ate-F2": "0", **keys}, **HERE)
    page = client.get(f"/feeding?on={ON}", **HERE).content.decode()
    assert '<a href="#noted">2 meals noted</a>' in page.split("<section")[0]
    assert "F2 refused" in page and "F1 ate 1" in page


def test_anything_else_says_what_each_kind_asks_for(client: Client) -> None:
    page = html.unescape(client.get(f"/tub/A-2-1?on={ON}", **HERE).content.decode())
    for words in (
        "laid: the number of good eggs",
        "scan: the diameter of the largest follicles, mm",
        "moved: the new tub as rack-row-place, like A-3-2",
        "ovulation</option>",
    ):
        assert words in page
    assert '<option value=""></option>' in page, "nothing is chosen before the hand chooses"
    assert page.count('<datalist id="details">') == 1 and '<option value="bowl wrapping">' in page
