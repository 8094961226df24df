"""Finding an animal with few letters: its tag, its name, a part of either, its tub or the tub's label."""

from __future__ import annotations

from urllib.parse import quote

import pytest
from django.http import HttpResponse
from django.test import Client

from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.records import store
from tests.test_web_round_page import HERE, room

__all__ = ["room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")


def find(text: str) -> HttpResponse:
    return Client().get(f"/find?tag={quote(text)}", **HERE)


@pytest.mark.parametrize(
    ("text", "to"),
    [
        ("F1", "/animal/F1"),
        (" f-1 ", "/animal/F1"),
        ("anvil", "/animal/M1"),
        ("nvi", "/animal/M1"),
        ("a-2-2", "/tub/A-2-2"),
        ("http://room:8642/tub/A-2-1", "/tub/A-2-1"),
    ],
)
def test_what_fits_one_is_gone_to_at_once(text: str, to: str) -> None:
    answer = find(text)
    assert (answer.status_code, answer["Location"]) == (302, to)


def test_several_are_offered_each_one_tap_away() -> None:
    page = find("f").content.decode()
    assert 'href="/animal/F1"' in page and 'href="/animal/F2"' in page and "/animal/M1" not in page


def test_a_long_list_is_cut_and_says_so() -> None:
    store.save_animals(Animal(f"G{n:03}", Sex.FEMALE, tub=Tub("G", 1, n)) for n in range(40))
    page = find("G0").content.decode()
    assert page.count('href="/animal/G') == 30 and "10 more; type a little more of it." in page


def test_the_nearest_is_one_tap_away() -> None:
    answer = find("FI")
    page = answer.content.decode()
    assert answer.status_code == 404
    assert "FI is not an animal here; did you mean F1?" in page and 'href="/animal/F1">Go to F1' in page


@pytest.mark.parametrize("text", ["%", "-", "--", "a-2-", "/tub/", "/tub/%", "x" * 400, "é"])
def test_what_fits_nobody_is_told(text: str) -> None:
    answer = find(text)
    assert answer.status_code in (200, 302, 404)
    assert answer.status_code != 404 or "is not an animal here" in answer.content.decode()


def test_it_can_be_typed_on_the_page_of_all_pages() -> None:
    page = Client().get("/all", **HERE).content.decode()
    assert 'action="/find"' in page.split('<ul class="contents">', 1)[0]


def test_a_page_that_is_not_here_offers_to_look_for_it() -> None:
    answer = Client().get("/animal/F9", **HERE)
    page = answer.content.decode().split("<main", 1)[1].split("</main>")[0]
    assert answer.status_code == 404 and 'action="/find"' in page
