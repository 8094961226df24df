"""Pages stay light in a larger house, and ask the store few things whatever its size."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.engine.entries import Entry, Kind
from eggtooth.records import store
from eggtooth.web.urls import urlpatterns
from tests.house import HERE, ON, bred

__all__ = ["bred"]
LIGHT = 150_000

COPY, HOUSE, DAY = 7, 2, 2
"""Looking whether the copy is up to date (in one transaction); settings and chosen pairs, or settings and the
entries of a day."""
QUERIES = {
    "round": COPY + DAY,
    "room": COPY + DAY,
    "tub/A-1-0": COPY + DAY,
    "scale": COPY + DAY,
    "feeding": COPY + DAY,
    "hatchlings": COPY + HOUSE,
    "season": COPY + HOUSE,
    "males": COPY + HOUSE,
    "ready": COPY + HOUSE,
    "clutches": COPY + HOUSE,
    "feeders": COPY + HOUSE,
    "review": COPY + HOUSE,
    "rates": COPY + HOUSE + 1,
    "cross?sire=Clown&dam=GROWING": COPY,
    "wishes": COPY,
    "plan": COPY + HOUSE,
    "routes": COPY,
    "nights": COPY + HOUSE,
    "animals/new": 0,
    "animal/GROWING": COPY + HOUSE + 1,
    "animal/GROWING/note": COPY + DAY,
    "animal/GROWING/edit": COPY,
    "animal/GROWING/photos": COPY + 1,
    "animal/GROWING/papers": COPY + 1,
    "records": COPY + 7,
    "records?tag=GROWING&kind=weight": COPY + 7,
    "doubts": COPY + HOUSE,
    "bring": 0,
    "labels": COPY,
    "settings": 2,
    "people": 1,
    "people/book": 1,
    "me": 0,
    "all": 0,
    "away": 0,
    "sign-in": 0,
    "sw.js": 0,
}
"""Queries of each page that shows something, once the process has its copy."""


@pytest.mark.sqlite
def test_queries_of_every_page(bred: None) -> None:
    found = {}
    for path in QUERIES:
        address = "/" + ("" if path == "round" else path)
        assert Client().get(address, **HERE).status_code == 200, path
        with CaptureQueriesContext(connection) as asked:
            Client().get(address, **HERE)
        found[path] = len(asked)
    assert found == QUERIES


def test_no_page_is_left_out() -> None:
    """Pages that only take something, or show a file, a sheet or one entry, have no count of their own."""
    others = {
        "note",
        "note-entry",
        "undo",
        "entry-correct",
        "choose",
        "go-by",
        "rates-choose",
        "find",
        "entry",
        "sign-out",
        "look-around",
        "leave",
        "again",
        "photo",
        "photo-remove",
        "first-password",
    }
    others |= {"take", "calendar", "labels-pdf", "bring-sheet", "certificate", "hatch"}
    names = {p.name for p in urlpatterns if getattr(p, "name", None)} - others
    asked = {p.split("?")[0] for p in QUERIES}  # records are asked twice
    assert len(names) == len(asked), sorted(names)


def test_a_note_asks_little_and_works_out_nothing(bred: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("eggtooth.records.standing.colony", lambda: pytest.fail("the colony was read"))
    tap = {"tap": f"{uuid4().hex}|ate1|GROWING|", "on": ON.isoformat()}
    with CaptureQueriesContext(connection) as asked:
        assert Client().post("/note", tap, HTTP_ACCEPT="application/json", **HERE).status_code == 200
    assert len(asked) == 6


@pytest.fixture
def racks(fresh_store: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """Four hundred females in five racks, all due for a meal and the scale."""
    monkeypatch.setenv("EGGTOOTH_TODAY", ON.isoformat())
    names = [f"R{n}" for n in range(5)]
    tags = {f"{r}F{n}": Tub(r, n // 10, n % 10) for r in names for n in range(80)}
    store.save_animals(Animal(t, Sex.FEMALE, "", date(2021, 6, 1), tub=tub) for t, tub in tags.items())
    long_ago = ON - timedelta(days=40)
    store.add_entries(
        Entry(uuid4().hex, long_ago, None, tag, kind, value, None, "keeper")
        for tag in tags
        for kind, value in ((Kind.MEAL, 1.0), (Kind.WEIGHT, 1800.0))
    )
    yield names


def text(path: str) -> str:
    answer = Client().get(path, **HERE)
    assert answer.status_code == 200
    found: str = answer.content.decode()
    return found


@pytest.mark.parametrize(
    "path", ["/", "/?do=scale", "/room", "/scale", "/feeding", "/ready", "/records", "/doubts", "/cross"]
)
def test_pages_of_a_larger_house_are_light(racks: list[str], path: str) -> None:
    assert len(text(path).encode()) < LIGHT


def test_a_walk_through_all_racks_meets_every_line_once(racks: list[str]) -> None:
    path, met, ends = "/?do=meals", list[str](), 0
    while path:
        page = text(path)
        met += re.findall(r"\|ate1\|([^|]+)\|", page)
        onward = re.search(r'href="(\?[^"]*)">(?:Next: |after)', page)
        path = "/" + onward[1].replace("&amp;", "&") if onward else ""
        ends += "the end of the walk" in page
    assert len(met) == len(set(met)) == 400 and ends == 1


def test_a_note_leads_back_to_its_rack(racks: list[str]) -> None:
    page = text("/?do=meals&rack=R3")
    tap = re.search(r'value="([0-9a-f]+\|ate1\|[^"]*)"', page)
    back = re.search(r'name="back" value="([^"]*)"', page)
    assert tap and back
    sent = {"tap": tap[1], "on": ON.isoformat(), "back": back[1].replace("&amp;", "&")}
    answer = Client().post("/note", sent, **HERE)
    assert "rack=R3" in answer["Location"] and "do=meals" in answer["Location"]


def test_a_rack_that_is_done_says_so_and_leads_on(racks: list[str]) -> None:
    page = text("/?rack=R2b")
    assert "Nothing more to do in R2b" in page and "Next: R3" in page
