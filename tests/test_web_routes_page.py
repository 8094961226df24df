"""The page of routes over a real store."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.test import Client

from eggtooth.engine.colony import Animal, Sex, Wish
from eggtooth.records import store

pytestmark = pytest.mark.usefixtures("fresh_store")
HERE = {"HTTP_HOST": "127.0.0.1"}


@pytest.fixture
def pair(fresh_store: Path) -> None:
    """A visual of one gene, a visual of the other, and a double het."""
    store.save_animals(
        [
            Animal("M1", Sex.MALE, genes="Clown"),
            Animal("F1", Sex.FEMALE, genes="Piebald"),
            Animal("F2", Sex.FEMALE, genes="Clown het Piebald"),
        ]
    )
    store.save_wishes([Wish("Clown Piebald")])


def page(path: str, status: int = 200) -> str:
    answer = Client().get(path, **HERE)
    assert answer.status_code == status
    return answer.content.decode()


def test_without_a_wish_only_the_form(pair: None) -> None:
    html = page("/routes")
    assert '<option value="Clown Piebald">' in html
    assert "<svg" not in html


def test_a_route_is_drawn_and_told_as_a_table(pair: None) -> None:
    """M1 with F1, a double het son, to F2: 1/8 an egg, 18 or 23 eggs for 90 or 95 % (binomial arithmetic)."""
    html = page("/routes?wish=Clown+Piebald&seasons=2")
    assert "a son: het Clown Piebald" in html
    assert "12.5 %" in html
    assert "18 or 23" in html
    assert html.count('<svg class="route down"') == html.count('<svg class="route right"') == 1
    assert "23 eggs for 95 %" in html


def test_no_inline_style_and_no_script(pair: None) -> None:
    html = page("/routes?wish=Clown+Piebald&seasons=3")
    assert not re.search(r"\sstyle=|<script>|<style", html)


def test_what_cannot_be_is_said(pair: None) -> None:
    assert "There is no route to Albino" in page("/routes?wish=Albino&seasons=2")


def test_a_mistyped_wish_names_the_nearest(pair: None) -> None:
    assert "did you mean Clown" in page("/routes?wish=Clwn", 422)


@pytest.mark.parametrize("seasons", ["", "0", "99", "x", "²", "-1", "1" * 50])
def test_odd_seasons_are_taken_as_three(pair: None, seasons: str) -> None:
    assert "<option selected>3</option>" in page(f"/routes?wish=&seasons={seasons}")


def test_an_empty_house(fresh_store: Path) -> None:
    assert "There is no route" in page("/routes?wish=Clown&seasons=3")
