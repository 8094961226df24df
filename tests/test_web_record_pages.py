"""Animals, hatched clutches, records and settings as forms: what they keep, refuse and never overwrite."""

from __future__ import annotations

import html
import json
import re
from datetime import date
from urllib.parse import unquote
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import resolve, reverse
from hypothesis import given
from hypothesis import strategies as st

from eggtooth.engine.entries import Kind
from eggtooth.engine.house import Settings
from eggtooth.records import store
from eggtooth.web.settings_numbers import NUMBERS, check
from tests.test_web_round_page import HERE, client, entry, room

__all__ = ["client", "room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")


@pytest.fixture(autouse=True)
def summer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EGGTOOTH_TODAY", "2026-07-10")


def hidden(page: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    assert found, f"no field {name}"
    return html.unescape(found[1])


def text(answer: object) -> str:
    return html.unescape(answer.content.decode())  # type: ignore[attr-defined]


def animal_form(client: Client, of: str, **change: str) -> dict[str, str]:
    page = client.get(f"/animal/{of}/edit", **HERE).content.decode() if of else ""
    was = hidden(page, "was") if of else "{}"
    return {**json.loads(was), "was": was, **change}


def test_a_new_animal_is_kept(client: Client) -> None:
    form = animal_form(client, "", tag="F9", sex="F", genes="Pastel het Clown", tub="B-1-1")
    assert client.post("/animals/new", form, **HERE)["Location"] == "/animal/F9"
    assert store.colony().animals["F9"].genes == "Pastel het Clown"


def test_a_mistyped_gene_and_parent_are_told_the_right_one(client: Client) -> None:
    wrong = client.post("/animals/new", animal_form(client, "", tag="F9", genes="Pastl"), **HERE)
    assert wrong.status_code == 400 and "Pastel" in text(wrong)
    wrong = client.post("/animals/new", animal_form(client, "", tag="F9", dam="FI"), **HERE)
    assert "dam: FI is not an animal here; did you mean F1?" in text(wrong)
    assert "F9" not in store.colony().animals


def test_a_new_animal_does_not_take_an_old_ones_place(client: Client) -> None:
    told = client.post("/animals/new", animal_form(client, "", tag="F1", sex="M"), **HERE)
    assert "F1 is an animal here already" in text(told)


def test_two_that_change_one_animal_the_later_is_told(client: Client) -> None:
    first = animal_form(client, "F1", name="Kelp")
    second = animal_form(client, "F1", name="Moss")
    assert client.post("/animal/F1/edit", first, **HERE).status_code == 302
    told = client.post("/animal/F1/edit", second, **HERE)
    assert told.status_code == 400 and "F1 was changed by somebody else meanwhile: name is now Kelp" in text(
        told
    )
    assert store.colony().animals["F1"].name == "Kelp"


@pytest.fixture
def hatched() -> str:
    """F1 hatched three after a season with M1."""
    kinds = ((Kind.LAID, "2026-04-20", 4), (Kind.HATCHED, "2026-06-20", 3))
    store.add_entries(entry(on, "F1", kind, n) for kind, on, n in kinds)
    return "/hatchlings/F1/2026-06-20"


def clutch_form(client: Client, path: str) -> dict[str, list[str]]:
    page = text(client.get(path, **HERE))
    return {name: re.findall(rf'name="{name}" value="([^"]*)"', page) for name in ("tag", "key")} | {
        "genes": ["Normal", "", "Normal"],
        "sex": ["F", "", "M"],
        "grams": ["61", "58.5", ""],
    }


def test_a_line_break_in_a_field_leaves_each_fault_with_its_hatchling(client: Client, hatched: str) -> None:
    form = clutch_form(client, hatched) | {"genes": ["Clown\r\nhet Pied", "Clwn", "Clown\0"]}
    for genes in (form["genes"], [*form["genes"][:2], ""]):
        answer = client.post(hatched, form | {"genes": genes}, **HERE)
        assert answer.status_code == 400 and store.colony().animals.keys() == {"M1", "F1", "F2"}
    assert "H26-01, genes" in text(answer) and "H26-02, genes" in text(answer)
    assert "H26-03, genes" not in text(answer)


def test_a_clutch_is_entered_in_one_go(client: Client, hatched: str) -> None:
    assert "3 without a tag" in text(client.get("/hatchlings", **HERE))
    form = clutch_form(client, hatched)
    assert form["tag"] == ["H26-01", "H26-02", "H26-03"]
    kept = client.post(hatched, form, **HERE, follow=True)
    assert kept.redirect_chain == [(hatched, 302)] and "All of them have a tag:" in text(kept)
    assert all(f'href="/animal/H26-0{n}"' in text(kept) for n in (1, 2, 3))
    young = [a for a in store.colony().animals.values() if a.dam == "F1"]
    assert [(a.tag, a.sires, a.hatched) for a in young] == [
        (f"H26-0{n}", ("M1",), date(2026, 6, 20)) for n in (1, 2, 3)
    ]
    assert [e.value for e in store.entries() if e.tag.startswith("H26")] == [61, 58.5]
    assert "without a tag" not in text(client.get("/hatchlings", **HERE))


def test_of_a_clutch_entered_in_part_both_parts_are_shown(client: Client, hatched: str) -> None:
    form = clutch_form(client, hatched)
    kept = client.post(hatched, form | {"tag": ["H26-01", "", ""]}, **HERE, follow=True)
    assert 'With a tag: <a href="/animal/H26-01">' in text(kept)
    assert clutch_form(client, hatched)["tag"] == ["H26-02", "H26-03"]


def test_what_may_hatch_is_told_in_numbers(client: Client, hatched: str) -> None:
    for language in ("en-gb", "de"):
        page = text(client.get(hatched, **HERE, HTTP_ACCEPT_LANGUAGE=language))
        assert "<meter" not in page
        assert re.search(r"<td>Normal</td><td>100 (of|von) 100</td>", page), language


def test_one_wrong_line_keeps_the_whole_clutch_out(client: Client, hatched: str) -> None:
    form = clutch_form(client, hatched) | {"genes": ["Normal", "Clwn", ""]}
    told = client.post(hatched, form, **HERE)
    assert told.status_code == 400 and "H26-02" in text(told) and "Clown" in text(told)
    assert not any(a.dam == "F1" for a in store.colony().animals.values())


def test_a_hatchling_with_a_taken_tag_is_refused(client: Client, hatched: str) -> None:
    form = clutch_form(client, hatched) | {"tag": ["M1", "H26-02", "H26-03"]}
    assert "M1, tag: M1 is an animal here already" in text(client.post(hatched, form, **HERE))


def test_records_are_found_and_those_taken_back_stay_in_sight(client: Client) -> None:
    weight = next(e for e in store.entries() if e.tag == "F1" and e.kind is Kind.WEIGHT)
    client.post("/undo", {"id": weight.id}, **HERE)
    page = text(client.get("/records", {"tag": "f1", "kind": "weight"}, **HERE))
    assert "1 entry" in page and "<s>10 Jan 2026 F1 weight 1900 g</s>" in page and "noted by keeper, " in page
    assert "taken back by keeper" in page


def test_a_wrong_entry_is_put_right_and_both_stay(client: Client) -> None:
    weight = next(e for e in store.entries() if e.tag == "F1" and e.kind is Kind.WEIGHT)
    form = {
        "id": weight.id,
        "key": uuid4().hex,
        "tag": "F1",
        "kind": "weight",
        "value": "1850",
        "on": "2026-01-10",
    }
    assert client.post("/records/correct", form, **HERE).status_code == 302
    assert [e.value for e in store.entries() if e.tag == "F1" and e.kind is Kind.WEIGHT] == [1850]
    assert [v.entry.value for v in store.voided()] == [1900]
    again = client.post("/records/correct", form | {"key": uuid4().hex}, **HERE)
    assert again.status_code == 400 and "taken back meanwhile" in text(again)


def test_a_correction_that_cannot_be_takes_nothing_back(client: Client) -> None:
    weight = next(e for e in store.entries() if e.tag == "F1" and e.kind is Kind.WEIGHT)
    form = {
        "id": weight.id,
        "key": uuid4().hex,
        "tag": "F1",
        "kind": "weight",
        "value": "much",
        "on": "2026-01-10",
    }
    assert client.post("/records/correct", form, **HERE).status_code == 400
    assert store.voided() == []


def settings_form(client: Client) -> dict[str, str | list[str]]:
    page = text(client.get("/settings", **HERE))
    found: dict[str, str | list[str]] = dict(re.findall(r'<input name="(\w+)" value="([^"]*)"', page))
    for name, options in re.findall(r'<select name="([\w-]+)"[^>]*>(.*?)</select>', page):
        chosen = re.search(r'<option(?: value="(\d+)")? selected>(\d*)', options)
        assert chosen, name
        found[name] = chosen[1] or chosen[2]
    return found | {"seen": hidden(page, "seen"), "night": re.findall(r'value="(\d)" checked', page)}


def test_settings_saved_unchanged_change_nothing(client: Client) -> None:
    assert client.post("/settings", settings_form(client), **HERE).status_code == 302
    assert store.settings_past() == []


def test_settings_are_dated_and_can_be_gone_back_to(client: Client) -> None:
    first = store.settings()
    client.post("/settings", settings_form(client) | {"night": ["2"], "kinship_limit": "6,25"}, **HERE)
    now = store.settings()
    assert now.pairing_nights == (2,) and now.kinship_limit == 0.0625
    client.post("/settings", settings_form(client) | {"male_least_g": "550"}, **HERE)
    client.post("/settings", {"seen": "2", "again": "0"}, **HERE)
    assert store.settings() == now and len(store.settings_past()) == 3 and first != now


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"male_least_g": "heavy"}, "heavy is not a number"),
        ({"male_least_g": "-1"}, "cannot be"),
        ({"incubator_c": "90000"}, "Incubator: 90000 cannot be; this number is from 20 to 40 °C"),
        ({"incubator_c": "89"}, "89 °F is 31.7 °C"),
        ({"incubator_c": ""}, "Incubator: this number is missing; this number is from 20 to 40 °C"),
        ({"kinship_limit": "101"}, "from 0 to 100 %"),
        ({"quarantine_days": "inf"}, "is not a number"),
        ({"male_best_g": "450"}, "Males from: 500 is more than 450 at “Males best at”"),
        ({"quarantine_racks": "Q, " + "R" * 41}, "is too long; up to 40 characters"),
        ({"cool_from-month": "2", "cool_from-day": "31"}, "31 February is not a day of every year"),
        ({"seen": "7"}, "changed by somebody else meanwhile"),
        ({"night": ["9"]}, "is not a whole number from 0 to 6"),
    ],
)
def test_settings_that_cannot_be_are_refused(client: Client, change: dict[str, str], told: str) -> None:
    answer = client.post("/settings", settings_form(client) | change, **HERE)
    assert answer.status_code == 400 and told in text(answer)
    assert store.settings_past() == []


def test_refused_settings_stand_as_they_were_typed(client: Client) -> None:
    typed = settings_form(client) | {
        "night": ["5"],
        "cool_from-day": "30",
        "quarantine_racks": "Q, R",
        "incubator_c": "90000",
        "male_least_g": "560",
        "fahrenheit": "on",
    }
    answer = text(client.post("/settings", typed, **HERE))
    assert re.findall(r'value="(\d)" checked', answer) == ["5"]
    for words in (
        'value="90000"',
        'value="560"',
        'value="Q, R"',
        "<option selected>30",
        'name="fahrenheit" checked',
    ):
        assert words in answer


@pytest.mark.parametrize("fahrenheit", ["", "on"])
def test_every_number_of_the_settings_has_bounds(client: Client, fahrenheit: str) -> None:
    client.post("/settings", settings_form(client) | {"fahrenheit": fahrenheit}, **HERE)
    now = len(store.settings_past())
    for field in NUMBERS:
        for typed in ("99999", "-1"):
            answer = client.post("/settings", settings_form(client) | {field: typed}, **HERE)
            assert answer.status_code == 400 and f"{typed} cannot be" in text(answer), field
    assert len(store.settings_past()) == now


def test_the_usual_settings_lie_within_their_bounds() -> None:
    check(Settings())
    check(Settings(fahrenheit=True))


def test_what_stood_before_there_were_bounds_is_shown_and_not_gone_back_to(client: Client) -> None:
    store.save_settings(Settings(incubator_c=90.0), "Ada")
    form = settings_form(client)
    assert client.post("/settings", form | {"incubator_c": "31.5"}, **HERE).status_code == 302
    answer = client.post("/settings", {"seen": "2", "again": "0"}, **HERE)
    assert answer.status_code == 400 and "90 cannot be" in text(answer)
    assert store.settings().incubator_c == 31.5


def test_a_tag_and_a_rack_may_hold_a_slash(client: Client) -> None:
    form = animal_form(client, "", tag="22/14", sex="F", tub="A/B-1-1", hatched="2024-06-01")
    assert client.post("/animals/new", form, **HERE).status_code == 302
    addresses = ["/animal/22/14", "/animal/22/14/edit", "/animal/22/14/note", "/animal/22/14/papers"]
    for address in [*addresses, "/tub/A/B-1-1", "/room", "/", "/records?tag=22/14"]:
        assert "22/14" in text(client.get(address, **HERE)), address
    assert client.get("/api/animals/22/14/entries", **HERE).json() == {"entries": []}


ENDINGS = ("edit", "note", "papers", "photos", "photos/remove", "photos/3.jpg", "=edit", "==edit", "remove")


@given(st.lists(st.sampled_from([*ENDINGS, "22", "=", "x"]), min_size=1, max_size=4), st.booleans())
def test_an_address_is_one_page_of_one_animal(parts: list[str], slash: bool) -> None:
    tag = "/".join(parts) + "/" * slash
    pages = {n: reverse(n, args=[tag]) for n in ("animal", "animal-edit", "animal-note", "papers", "photos")}
    pages |= {"photo": reverse("photo", args=[tag, 3]), "photo-remove": reverse("photo-remove", args=[tag])}
    for name, address in pages.items():
        found = resolve(unquote(address))
        assert (found.url_name, found.kwargs["tag"]) == (name, tag), address


def test_a_tag_that_ends_like_a_page_has_pages_of_its_own(client: Client) -> None:
    for tag in ("22", "22/edit", "22/note"):
        form = animal_form(client, "", tag=tag, sex="F", hatched="2024-06-01")
        assert client.post("/animals/new", form, **HERE).status_code == 302
    found = client.get("/find?tag=22/edit", **HERE)["Location"]
    assert found == "/animal/22/=edit"
    assert "<h1" in text(client.get(found, **HERE)) and "22/edit" in text(client.get(found, **HERE))
    assert 'name="was"' in text(client.get("/animal/22/edit", **HERE))
    assert "22/note" in text(client.get(reverse("animal-note", args=["22/note"]), **HERE))
