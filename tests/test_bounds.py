"""The page of bounds says what the code holds to, and the code holds to what the page says."""

from __future__ import annotations

import math
import re
from datetime import date
from pathlib import Path

import pytest
from django.db.models import CharField

from eggtooth.engine.entries import Kind
from eggtooth.records import models
from eggtooth.records.files.reading import Paths, read_files
from tests.bounds import PAGE, page

TEXT = PAGE.read_text(encoding="utf-8")
LATEST = date(2026, 2, 1)
HEADS = {
    "animals": "tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note\n",
    "log": "date,tag,kind,value,detail,note,noted by\n",
    "wishes": "wish,weight,count\n",
    "incubators": "tag,places,target_c\n",
}


def said(name: str) -> list[str]:
    """The cells beside a name on the page."""
    found = re.search(rf"^\| {re.escape(name)} \| (.*) \|$", TEXT, re.M)
    assert found, name
    return [cell.strip() for cell in found[1].split("|")]


def test_the_page_is_what_the_code_says() -> None:
    """Else: `.venv/bin/python -m tests.bounds`."""
    assert page() == TEXT


def taken(tmp_path: Path, file: str, line: str) -> bool:
    """Whether a line of a file is taken, beside an animal it may speak of."""
    path, animals = tmp_path / f"{file}.csv", tmp_path / "animals.csv"
    animals.write_text(f"{HEADS['animals']}F1,,F,,,,,,,,\n", encoding="utf-8")
    kept = animals.read_text(encoding="utf-8") if file == "animals" else HEADS[file]
    path.write_text(kept + line + "\n", encoding="utf-8")
    found = read_files(Paths(**{"animals": animals, file: path}), LATEST)
    return not found.refusals


TEXTS = {
    "tag, sire, dam, rack of a tub": ("animals", "{},,F,,,,,,,,"),
    "name": ("animals", "F2,{},F,,,,,,,,"),
    "genes": ("animals", "F2,,F,,{},,,,,,"),
    "clutch": ("animals", "F2,,F,,,,,{},,,"),
    "detail of an entry": ("log", "2026-01-02,F1,shed,,{},,"),
    "noted by, voided by": ("log", "2026-01-02,F1,shed,,,,{}"),
    "note, why": ("log", "2026-01-02,F1,shed,,,{},"),
    "wish": ("wishes", "{},1,1"),
}


@pytest.mark.parametrize("name", TEXTS)
def test_a_text_may_be_as_long_as_the_page_says_and_no_longer(tmp_path: Path, name: str) -> None:
    file, line = TEXTS[name]
    (most,) = said(name)
    for length, fine in ((int(most), True), (int(most) + 1, False)):
        assert taken(tmp_path, file, line.format("é" * length)) == fine, length


NUMBERS = {kind.value: ("log", f"2026-01-02,{{tag}},{kind.value},{{}},,,") for kind in Kind} | {
    "grams of one prey item": ("log", "2026-01-02,F1,meal,1,rat {}g,,"),
    "error of a test": ("log", "2026-01-02,F1,test,,Clown 1 error {}%,,"),
    "weight of a wish": ("wishes", "Clown,{},1"),
    "count of a wish": ("wishes", "Clown,1,{}"),
    "places of an incubator": ("incubators", "I1,{},31"),
    "target_c of an incubator": ("incubators", "I1,12,{}"),
}


@pytest.mark.parametrize("name", [n for n in NUMBERS if f"| {n} |" in TEXT])
def test_a_number_may_be_as_large_as_the_page_says_and_no_larger(tmp_path: Path, name: str) -> None:
    file, line = NUMBERS[name]
    low, high, _, kind = said(name)
    tag = "I1" if name == "temperature" else "F1"
    least, most = float(low), float(high.replace(",", ""))
    beyond = 1.0 if kind == "whole numbers" else 0.01
    tried = [(least, True), (most, True), (most + beyond, False)]
    if least > 0:
        tried.append((least - min(beyond, least / 2) if kind != "whole numbers" else least - 1, False))
    elif file != "log" or "rat" not in line:
        tried.append((-beyond, False))
    if kind == "whole numbers":
        tried.append((least + 0.5, False))
    for number, fine in tried:
        assert math.isfinite(number)
        assert taken(tmp_path, file, line.format(f"{number:.6f}".rstrip("0").rstrip("."), tag=tag)) == fine, (
            number
        )


def test_every_kind_of_entry_stands_on_the_page() -> None:
    assert sum(f"| {name} |" in TEXT for name in NUMBERS) == 8 + 6
    for kind in Kind:
        assert re.search(rf"\b{kind.value}\b", TEXT)


def test_the_store_is_as_wide_as_the_files() -> None:
    """A text that a file may hold fits the store; the store's own words (of roles, kinds) are shorter."""
    wide = {
        f"{model.__name__}.{field.name}": field.max_length
        for model in (models.Animal, models.Entry, models.Voiding, models.Wish, models.Incubator, models.Rack)
        for field in model._meta.get_fields()
        if isinstance(field, CharField)
    }
    longest = {name: int(said(name)[0]) for name in TEXTS}
    assert wide["Animal.tag"] == wide["Incubator.tag"] == wide["Rack.name"] == wide["Entry.place"]
    assert wide["Animal.tag"] == longest["tag, sire, dam, rack of a tub"]
    assert wide["Animal.name"] == longest["name"] and wide["Animal.genes"] == longest["genes"]
    assert wide["Animal.clutch"] == longest["clutch"] and wide["Wish.text"] == longest["wish"]
    assert wide["Entry.detail"] == longest["detail of an entry"]
    assert wide["Entry.noted_by"] == wide["Voiding.voided_by"] == longest["noted by, voided by"]
