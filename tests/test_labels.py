"""Labels and cards: every code decodes to its page, in place to the millimetre; an animal's papers."""

from __future__ import annotations

import html
from datetime import date

import pypdfium2
import pytest
import zxingcpp
from django.test import Client

from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.engine.entries import Kind
from eggtooth.jobs.labels import SHEETS, Label, printed
from eggtooth.records import store
from tests.test_web_round_page import HERE, client, entry, room

__all__ = ["client", "room"]
DOTS_PER_MM = 12


def codes(pdf: bytes) -> list[tuple[str, tuple[float, float]]]:
    """Text and centre in mm of every code of the first page, by a reader of the registries (zxing-cpp)."""
    image = pypdfium2.PdfDocument(pdf)[0].render(scale=DOTS_PER_MM * 25.4 / 72).to_pil()
    found = []
    for code in zxingcpp.read_barcodes(image):
        p = code.position
        x = (p.top_left.x + p.bottom_right.x) / 2 / DOTS_PER_MM
        y = (p.top_left.y + p.bottom_right.y) / 2 / DOTS_PER_MM
        found.append((code.text, (x, y)))
    return sorted(found)


@pytest.mark.parametrize("key", SHEETS)
def test_every_code_decodes_in_its_place(key: str) -> None:
    sheet = SHEETS[key]
    count = sheet.on_one
    labels = [
        Label(f"http://room.local:8642/tub/A-{n // 10}-{n % 10:03}", f"A-{n}", ("F01 Kelp F 2021",))
        for n in range(count)
    ]
    found = codes(printed(labels, sheet))
    assert [text for text, _ in found] == sorted(label.address for label in labels)
    places = dict(found)
    for n, label in enumerate(labels):
        left, top = sheet.corner(n)
        x, y = places[label.address]
        assert left < x < left + sheet.label_mm[0] / 2 and abs(y - top - sheet.label_mm[1] / 2) < 0.5


def test_a_sheet_fits_its_paper() -> None:
    for sheet in SHEETS.values():
        x, y = sheet.corner(sheet.on_one - 1)
        assert (
            x + sheet.label_mm[0] <= sheet.paper_mm[0] + 0.01
            and y + sheet.label_mm[1] <= sheet.paper_mm[1] + 0.01
        )


def test_used_places_are_skipped_and_sheets_follow() -> None:
    sheet = SHEETS["a4-24"]
    labels = [Label(f"http://x/{n}", str(n), ()) for n in range(24)]
    pdf = printed(labels, sheet, skip=5)
    assert len(pypdfium2.PdfDocument(pdf)) == 2
    (x, y) = dict(codes(pdf))["http://x/0"]
    assert (
        sheet.corner(5)[0] < x < sheet.corner(5)[0] + 70 and sheet.corner(5)[1] < y < sheet.corner(5)[1] + 37
    )


@pytest.mark.parametrize("words", ["Zoë ♀", "ボール", "x" * 300, "many words " * 40, ""])
def test_any_name_prints(words: str) -> None:
    label = Label("http://x/1", words, (words, words))
    assert codes(printed([label], SHEETS["a4-65"]))[0][0] == "http://x/1"


@pytest.mark.usefixtures("fresh_store", "room")
def test_tub_labels_of_a_rack_open_their_tubs(client: Client) -> None:
    store.save_animals([Animal("F9", Sex.FEMALE, tub=Tub("B ö", 1, 1))])
    pdf = client.get("/labels.pdf", {"sheet": "a4-24", "rack": "B ö"}, **HERE).content
    [(address, _)] = codes(pdf)
    assert address == "http://127.0.0.1/tub/B%20%C3%B6-1-1"
    assert "F9" in html.unescape(
        client.get(address.removeprefix("http://127.0.0.1"), **HERE).content.decode()
    )


@pytest.mark.usefixtures("fresh_store", "room")
def test_cards_of_hatched_clutches(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EGGTOOTH_TODAY", "2026-07-10")
    store.add_entries([entry("2026-06-20", "F1", Kind.HATCHED, 4)])
    pdf = client.get("/labels.pdf", {"sheet": "a4-24", "what": "clutches"}, **HERE).content
    assert [t for t, _ in codes(pdf)] == ["http://127.0.0.1/hatchlings/F1/2026-06-20"]


@pytest.mark.usefixtures("fresh_store", "room")
@pytest.mark.parametrize(
    "query", [{"sheet": "b5"}, {"sheet": "a4-24", "skip": "many"}, {"sheet": "a4-24", "skip": "-1"}]
)
def test_what_cannot_be_printed_is_told(client: Client, query: dict[str, str]) -> None:
    assert client.get("/labels.pdf", query, **HERE).status_code == 400


@pytest.mark.usefixtures("fresh_store", "room")
def test_papers_tell_who_it_is_and_how_it_was_kept(client: Client) -> None:
    child = Animal("H1", Sex.FEMALE, hatched=date(2025, 6, 1), genes="Pastel", sires=("M1",), dam="F1")
    store.save_animals([child])
    store.add_entries([entry("2026-01-11", "H1", Kind.WEIGHT, 312)])
    page = html.unescape(client.get("/animal/H1/papers", {"on": "2026-01-13"}, **HERE).content.decode())
    for words in (
        "H1",
        "female, hatched 1 June 2025",
        "M1 Anvil",
        "Pastel 100%",
        "312 g",
        "quarantine",
        "reptile vet",
    ):
        assert words in page
    assert client.get("/animal/none/papers", **HERE).status_code == 404
