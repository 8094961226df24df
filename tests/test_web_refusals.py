"""Refusals in the reader's language: the same sentence, its template looked up and filled anew."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.house import HERE, ON, bred

__all__ = ["bred"]
pytestmark = pytest.mark.usefixtures("bred")
GERMAN = {"HTTP_ACCEPT_LANGUAGE": "de"}


def noted(language: str, **said: str) -> str:
    form = {
        "key": "0" * 32,
        "on": ON.isoformat(),
        "tag": "ANVIL",
        "kind": "weight",
        "value": "",
        "detail": "",
    }
    answer = Client().post("/note/entry", form | said, HTTP_ACCEPT_LANGUAGE=language, **HERE)
    assert answer.status_code == 400
    return str(answer.content.decode())


@pytest.mark.parametrize(
    ("said", "english", "german"),
    [
        (
            {"tag": "ANVLI"},
            "tag: ANVLI is not an animal here; did you mean ANVIL?",
            "tag: ANVLI ist hier kein Tier; gemeint: ANVIL?",
        ),
        (
            {"value": "700000"},
            "value: 700000 cannot be; a weight is from 0.1 to 99999 g",
            "value: 700000 kann nicht sein; ein Gewicht: von 0,1 bis 99999 g",
        ),
        (
            {"kind": "shed", "value": "3"},
            "value: 3 stands in value, but shed has no value; leave it empty",
            "value: 3 steht bei value, aber Häutung hat keinen Wert; leer lassen",
        ),
    ],
)
def test_a_typed_entry_is_refused_in_the_readers_language(
    said: dict[str, str], english: str, german: str
) -> None:
    assert (noted("en", **said), noted("de", **said)) == (english, german)


def test_a_mistyped_gene_is_told_in_german() -> None:
    answer = Client().get("/cross?sire=Clwn&dam=Pastel", **GERMAN, **HERE)
    assert (
        answer.status_code == 422 and "„Clwn“ ist hier kein Gen; gemeint: Clown?" in answer.content.decode()
    )


def test_a_wrong_day_and_a_page_that_is_none_are_told_in_german() -> None:
    assert "&#x27;morgen&#x27;" not in Client().get("/?on=morgen", **GERMAN, **HERE).content.decode()
    assert "ist kein Datum; so schreiben:" in Client().get("/?on=morgen", **GERMAN, **HERE).content.decode()
    nobody = Client().get("/animal/NOBODY", **GERMAN, **HERE)
    assert nobody.status_code == 404 and "NOBODY ist hier kein Tier" in nobody.content.decode()
    nowhere = Client().get("/nowhere/at/all", **GERMAN, **HERE)
    assert nowhere.status_code == 404 and "Unter dieser Adresse ist keine Seite." in nowhere.content.decode()


def test_a_refused_line_of_a_sheet_is_told_in_german() -> None:
    sheet = SimpleUploadedFile("sheet.csv", b"tag,sex,hatched\nNEW1,F,2207-01-01\n")
    put = Client().post("/bring", {"sheet": sheet}, **GERMAN, **HERE)
    assert put.status_code == 302
    told = Client().get(put["Location"], **GERMAN, **HERE).content.decode()
    assert "Zeile 2, hatched: 2207-01-01 liegt in der Zukunft; Daten gehen hier von" in told
