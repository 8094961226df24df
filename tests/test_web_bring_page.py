"""A sheet of one's own brought in through the pages, and everything taken out again."""

from __future__ import annotations

import html
import io
import json
import re
import zipfile
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from openpyxl import load_workbook

from eggtooth.engine.colony import Animal, Sex
from eggtooth.jobs.invent import invent
from eggtooth.records import store
from tests.shots import ON
from tests.test_web_round_page import HERE, client

__all__ = ["client"]
pytestmark = pytest.mark.usefixtures("fresh_store")


def upload(client: Client, name: str, data: bytes) -> str:
    answer = client.post("/bring", {"sheet": SimpleUploadedFile(name, data)}, **HERE)
    assert answer.status_code == 302, answer.content.decode()
    return str(answer["Location"])


def look(client: Client, at: str) -> str:
    return html.unescape(client.get(at, **HERE).content.decode())


def form_of(page: str, do: str) -> dict[str, str]:
    """The form as a browser would send it."""
    found = {"do": do}
    for name, options in re.findall(r'<select name="([\w-]+)"[^>]*>(.*?)</select>', page, re.S):
        chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', options)
        found[name] = (chosen[1] if chosen[1] is not None else chosen[2]) if chosen else ""
    if kind := re.search(r'<input name="kind" value="([^"]*)"', page):
        found["kind"] = kind[1]
    return found


def test_a_sheet_in_other_words_is_looked_at_then_taken_in(client: Client) -> None:
    data = b"ID;Gender;Born;Morph;Bought\nF1;female;3.6.2021;Pastel het Clown;fair\nM1;male;13.6.2022;;\n"
    at = upload(client, "my herd.csv", data)
    page = look(client, at)
    assert "2 animals can be read, 2 of them new" in page and store.colony().animals == {}
    done = client.post(at, form_of(page, "all"), **HERE)
    assert done.status_code == 200 and "2 animals" in done.content.decode()
    kept = store.colony().animals["F1"]
    assert (kept.sex, str(kept.hatched), kept.note) == (Sex.FEMALE, "2021-06-03", "Bought: fair")
    assert client.get(at, **HERE).status_code == 404


def test_refused_lines_are_told_with_their_line_and_only_the_good_kept_on_request(client: Client) -> None:
    data = b"tag,genes\nF1,Pastl\nF2,Clown\n"
    at = upload(client, "herd.csv", data)
    page = look(client, at)
    assert "herd.csv line 2, genes" in page and "Pastel" in page and "Take in the good lines" in page
    assert client.post(at, form_of(page, "all"), **HERE).status_code == 400
    assert store.colony().animals == {}
    done = html.unescape(client.post(at, form_of(page, "good"), **HERE).content.decode())
    assert list(store.colony().animals) == ["F2"] and "Pastl" in done


def test_weights_from_a_scale_sheet(client: Client) -> None:
    store.save_animals([Animal("F1", Sex.FEMALE)])
    at = upload(client, "scale.csv", b"date,tag,grams\n2026-01-10,F1,1512\n2026-01-17,F1,1530\n")
    page = look(client, at)
    for _ in range(2):
        client.post(at, form_of(page, "all"), **HERE)
        at = upload(client, "scale.csv", b"date,tag,grams\n2026-01-10,F1,1512\n2026-01-17,F1,1530\n")
    assert [e.value for e in store.entries()] == [1512, 1530]


def test_columns_are_matched_by_hand_where_the_guess_is_wrong(client: Client) -> None:
    at = upload(client, "x.csv", b"who,when hatched\nF1,2021-06-03\n")
    page = look(client, at)
    assert "Say which column holds the tag" in page
    form = form_of(page, "look") | {"column-0": "tag", "column-1": "hatched"}
    page = html.unescape(client.post(at, form, **HERE).content.decode())
    assert "1 animal can be read" in page
    client.post(at, form | {"do": "all"}, **HERE)
    assert str(store.colony().animals["F1"].hatched) == "2021-06-03"


@pytest.mark.parametrize("data", [b"", b"\0\0", b"PK\x03\x04"])
def test_what_is_no_table_is_told(client: Client, data: bytes) -> None:
    answer = client.post("/bring", {"sheet": SimpleUploadedFile("x.xlsx", data)}, **HERE)
    assert answer.status_code == 400


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("herd.xlsx", b"tag\nF1\n", "herd.xlsx ends in .xlsx but holds no workbook"),
        ("herd.csv", b"PK\x03\x04", "herd.csv ends in .csv but holds a workbook"),
        ("herd.TXT", b"PK\x03\x04", "ends in .txt but holds a workbook"),
        ("herd.pdf", b"tag\nF1\n", "ends in .pdf; a table ends in .csv, .tsv, .txt, .xlsx, .xlsm"),
        ("herd.csv.exe", b"tag\nF1\n", "ends in .exe; a table ends in"),
        ("herd.xls", b"\xd0\xcf\x11\xe0", "workbook of the old kind"),
    ],
)
def test_an_ending_that_says_otherwise_is_refused(client: Client, name: str, data: bytes, told: str) -> None:
    answer = client.post("/bring", {"sheet": SimpleUploadedFile(name, data)}, **HERE)
    assert answer.status_code == 400 and told in html.unescape(answer.content.decode())


@pytest.mark.parametrize("name", ["herd", "herd.CSV", "herd.txt", "weights 12.5.2026"])
def test_an_ending_that_says_so_or_none_is_read(client: Client, name: str) -> None:
    assert upload(client, name, b"tag\nF1\n").startswith("/bring/")


@pytest.mark.parametrize("key", ["0" * 32, "..", "%2e%2e", "a" * 500])
def test_a_key_that_is_none_finds_nothing(client: Client, key: str) -> None:
    assert client.get(f"/bring/{key}", **HERE).status_code == 404


@pytest.mark.parametrize("name", ["../../etc/passwd", "C:\\herd.csv", "<script>.csv", "\u202egnp.csv", ""])
def test_a_files_name_leads_nowhere(client: Client, fresh_store: Path, name: str) -> None:
    at = upload(client, name or "x", b"tag\nF1\n")
    client.post(at, form_of(look(client, at), "all"), **HERE)
    assert list(store.colony().animals) == ["F1"]
    assert not list(fresh_store.parent.rglob("*passwd*"))


def test_everything_taken_out_is_the_same_store_brought_in(client: Client, tmp_path: Path) -> None:
    colony = invent(3, ON)
    store.save_animals(colony.animals.values())
    packed = zipfile.ZipFile(io.BytesIO(client.get("/take/csv", **HERE).content))
    at = upload(client, "animals.csv", packed.read("animals.csv"))
    assert f"{len(colony.animals)} animals can be read, 0 of them new" in look(client, at)
    before = store.colony().animals
    client.post(at, form_of(look(client, at), "all"), **HERE)
    assert store.colony().animals == before


def test_a_name_that_looks_like_a_formula_stays_a_name(client: Client) -> None:
    store.save_animals([Animal("F1", name="=1+1"), Animal("0012", name="007")])
    book = load_workbook(io.BytesIO(client.get("/take/xlsx", **HERE).content))
    rows = [[c.value for c in row][:2] for row in book["animals"].iter_rows()]
    assert rows[1:] == [["F1", "=1+1"], ["0012", "007"]]
    assert {c.data_type for c in book["animals"]["B"]} == {"s"}


def test_json_holds_the_same_lines(client: Client) -> None:
    store.save_animals([Animal("F1", Sex.FEMALE)])
    found = json.loads(client.get("/take/json", **HERE).content)
    assert found["animals"][0]["tag"] == "F1" and found["log"] == []
    assert client.get("/take/pdf", **HERE).status_code == 404
