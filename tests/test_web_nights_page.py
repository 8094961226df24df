"""The page of the nights over a real store: picture, tables, bad days, nothing inline."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from django.test import Client

from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.engine.entries import Kind
from eggtooth.engine.planning.wanted import Wanted, written
from eggtooth.records import store
from eggtooth.web import nights_page
from eggtooth.web.pictures.room import Thread
from eggtooth.web.pictures.room import room as drawn
from tests.test_web_round_page import HERE, entry, room

__all__ = ["room"]
ROW = r"<tr><td><a [^>]*>(\w+)</a></td><td><a [^>]*>(\w+)</a></td>"
pytestmark = pytest.mark.usefixtures("fresh_store")


def page(query: str = "?on=2026-01-13") -> str:
    answer = Client().get("/nights" + query, **HERE)
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_move_is_a_thread_and_a_row(room: Path) -> None:
    html = page()
    assert "M1 goes to F2" in html
    assert re.search(r"<td>.*M1.*</td><td>.*F2.*</td><td>no lock noted with F1", html)


def test_a_locked_pair_is_a_knot(room: Path) -> None:
    store.add_entries([entry("2026-01-13", "M1", Kind.LOCK, None, "F1")])
    html = page()
    assert 'class="knot"' in html and "M1 stays locked with F1" in html


def test_a_night_off_says_so(room: Path) -> None:
    html = page("?on=2026-01-17")
    assert "A night at home for the males" in html and "<svg" not in html


def test_the_kept_plan_is_gone_by(room: Path) -> None:
    plan = written(Wanted({("M1", "F2"): 1.0}, {("M1", "F2"): "Clown Piebald"}))
    store.save_settings(replace(store.settings(), season_plan=plan), "keeper")
    html = page()
    assert "wanted for Clown Piebald" in html and "every pair counts alike" not in html
    store.save_settings(replace(store.settings(), season_plan=""), "keeper")
    assert re.search(r"every pair counts alike\. <a href=\"/plan\">", page())


def test_an_empty_store_leads_by_the_hand() -> None:
    assert "eggtooth import" in page()


@pytest.mark.parametrize("on", ["2026-13-01", "tomorrow", "9999-01-01"])
def test_bad_days_are_refused(on: str) -> None:
    assert Client().get(f"/nights?on={on}", **HERE).status_code == 400


def test_no_style_or_script_is_written_into_the_page(room: Path) -> None:
    assert not re.search(r"<style|<script>|style=|onclick", page())


def test_a_tag_cannot_carry_markup() -> None:
    tubs = {"<b>": Tub("A", 1, 1), "F1": Tub("A", 1, 2)}
    assert "<b>" not in drawn(tubs, [Thread("<b>", "F1", False)])


def test_animals_without_a_tub_are_left_to_the_table() -> None:
    store.save_animals([Animal("M1", Sex.MALE), Animal("F1", Sex.FEMALE)])
    html = page("?on=2026-01-12")
    assert "<svg" not in html and re.search(r"<td>.*M1.*</td><td>.*F1", html)


def tonight(more: str) -> list[tuple[str, str]]:
    """The pairs of the night shown in full."""
    return re.findall(ROW, page(f"?on=2026-01-13{more}").split("The nights after")[0])


def test_long_nights_come_in_parts(room: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each pair of a night is on exactly one part; a night to come has a page of its own."""
    males = [f"N{k}" for k in range(1, 6)]
    store.save_animals(
        Animal(tag, Sex.MALE, "", date(2022, 6, 1), "", tub=Tub("C", 1, k)) for k, tag in enumerate(males, 1)
    )
    females = [f"G{k}" for k in range(1, 6)]
    store.save_animals(
        Animal(tag, Sex.FEMALE, "", date(2020, 6, 1), "", tub=Tub("D", 1, k))
        for k, tag in enumerate(females, 1)
    )
    store.add_entries(
        entry("2026-01-11", tag, Kind.WEIGHT, 700 if tag[0] == "N" else 1900) for tag in males + females
    )
    whole = tonight("")
    assert len(whole) > 4
    monkeypatch.setattr(nights_page, "PER_PAGE", 2)
    pages = [tonight(f"&page={k}") for k in range(1, 5)]
    assert sorted(pair for part in pages for pair in part) == sorted(whole)
    assert max(map(len, pages)) == 2
    tomorrow = page("?on=2026-01-13&night=2026-01-14")
    assert "Back to tonight" in tomorrow and "page=2&amp;night=2026-01-14" in tomorrow
    assert len(tonight("&night=2026-01-14")) == 2
