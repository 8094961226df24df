"""The cross, animal and doubts pages over a real store."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from django.test import Client

from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.records import store

pytestmark = pytest.mark.usefixtures("fresh_store")
HERE = {"HTTP_HOST": "127.0.0.1"}


@pytest.fixture
def family(fresh_store: Path) -> None:
    """Two hets, their visual daughter and normal-looking son."""
    store.save_animals(
        [
            Animal("S1", Sex.MALE, genes="het Clown", tub=Tub("A", 1, 1)),
            Animal("D1", Sex.FEMALE, genes="het Clown", tub=Tub("A", 1, 2)),
            Animal("V1", Sex.FEMALE, "", date(2024, 7, 1), "Clown", ("S1",), "D1", "c1", Tub("A", 1, 3)),
            Animal("N1", Sex.MALE, "", date(2024, 7, 1), "Normal", ("S1",), "D1", "c1", Tub("A", 1, 4)),
        ]
    )


def page(path: str, status: int = 200) -> str:
    answer = Client().get(path, **HERE)
    assert answer.status_code == status
    return answer.content.decode()


def test_cross_by_genes_says_the_chance_of_a_visual_in_six() -> None:
    """1 - (3/4)^6 = 0.822: the table of chances by clutch size (binomial arithmetic)."""
    html = page("/cross?sire=het+Clown&dam=het+Clown&eggs=6")
    assert "<b>82 of 100</b> clutches of 6 hold at least one visual" in html
    assert html.count("<ellipse") == 100


def test_cross_by_tags(family: None) -> None:
    html = page("/cross?sire=S1&dam=V1&eggs=6")
    assert "1 in 2, 50 %" in html


def test_cross_names_the_nearest_gene() -> None:
    html = page("/cross?sire=Clwn&dam=Clown", status=422)
    assert "Clwn" in html and "did you mean Clown" in html


def test_cross_blocks_what_makes_animals_suffer() -> None:
    html = page("/cross?sire=Pastel&dam=Desert")
    assert "Not this pair" in html and "common practice" in html


@pytest.mark.parametrize("query", ["sire=&dam=", "sire=%00&dam=x", "eggs=99999999&sire=Pastel&dam=Pastel"])
def test_cross_survives_odd_questions(query: str) -> None:
    assert Client().get(f"/cross?{query}", **HERE).status_code in (200, 422)


def test_animal_shows_two_thirds_and_why(family: None) -> None:
    html = page("/animal/N1?gene=Clown")
    assert "67%" in html and "its own look" in html
    assert re.search(r"<td>75%</td><td>67%</td>", html)


def test_animal_says_what_is_not_settled(family: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """A figure whose sampled runs disagree is not shown as one."""
    monkeypatch.setattr("eggtooth.engine.pedigree.answers.UNSETTLED", -1.0)
    html = page("/animal/N1?gene=Clown")
    assert "not settled (does not carry, het Clown)" in html
    assert "67%" not in html.split('<ul class="carried">')[1].split("</ul>")[0]


def test_animal_of_nobody_is_not_found() -> None:
    page("/animal/NOBODY", status=404)


def test_doubts_page_names_what_cannot_be(family: None) -> None:
    wrong = Animal("W1", Sex.FEMALE, "", date(2024, 7, 1), "Clown", ("S1",), "N2", "c2", Tub("A", 2, 1))
    store.save_animals([Animal("N2", Sex.FEMALE, genes="Normal", tub=Tub("A", 2, 2)), wrong])
    html = page("/doubts")
    assert "W1" in html and "cannot all be true" in html


def test_doubts_page_is_calm_when_nothing_is_odd(family: None) -> None:
    assert "Nothing is at odds" in page("/doubts")


def test_animal_says_how_to_settle_it(family: None) -> None:
    """2/3 het with a visual: 50, 33, 20 ... per cent, below 5 % after 6; his mother is too close."""
    store.save_animals([Animal("X1", Sex.FEMALE, genes="Clown"), Animal("W1", Sex.FEMALE, genes="Normal")])
    html = page("/animal/N1?gene=Clown")
    told = html[html.index("How to settle Clown") : html.index("Noted</h2>")]
    assert "Best here" in told and ">X1</a>" in told and "W1" not in told
    assert re.findall(r'<circle cx="\d+" cy="17"', told) and told.count("<ellipse") == 7
    assert (
        "after 1 normal-looking babies: 50\N{NO-BREAK SPACE}%" in told
        and "after 6 normal-looking babies: 3\N{NO-BREAK SPACE}%" in told
    )
    assert "<td>6</td></tr>" in told
    assert "D1</a>: related" in told and "V1</a>: related" in told
    assert "laboratory test" in told


def test_what_is_sure_needs_no_settling(family: None) -> None:
    assert "How to settle" not in page("/animal/V1?gene=Clown")


def test_inherited_contradictions_name_the_records_and_link_the_animals(fresh_store: Path) -> None:
    """Two normals cannot have a visual: the fewest records that cannot all be true, each animal a link."""
    store.save_animals(
        [
            Animal("S1", Sex.MALE, genes="Normal"),
            Animal("D1", Sex.FEMALE, genes="Normal"),
            Animal("K1", Sex.FEMALE, "", date(2024, 7, 1), "Clown", ("S1",), "D1", "c1"),
            Animal("K2", Sex.FEMALE, "", date(2024, 7, 1), "Normal", ("S1",), "D1", "c1"),
        ]
    )
    html = page("/doubts")
    told = re.search(r'<div class="wrong">.*?</div>', html, re.S)
    assert told and "Clown: these cannot all be true" in told[0]
    assert "</a> is noted as Clown" in told[0] and "</a> is from S1 × D1" in told[0] and "K2" not in told[0]
    links = re.findall(r'href="/animal/([^"?]+)', told[0])
    assert set(links) in ({"S1", "K1"}, {"D1", "K1"})
    assert "these cannot all be true" in page("/animal/K1")


def test_animal_says_how_inbred_it_is(family: None) -> None:
    """The young of full sibs have F = 1/4 (Wright 1922): said, drawn by year of hatch and as a table."""
    store.save_animals(
        [Animal("I1", Sex.MALE, "", date(2025, 7, 1), "Normal", ("N1",), "V1", "c2", Tub("A", 1, 5))]
    )
    html = page("/animal/I1")
    told = html[html.index('id="inbred"') : html.index("Noted</h2>")]
    assert "I1 is inbred 25\N{NO-BREAK SPACE}%" in told
    assert told.count('class="own"') == 1 and "2025: mean 25\N{NO-BREAK SPACE}% of 1" in told
    assert "<td>2024</td><td>2</td><td>0\N{NO-BREAK SPACE}%</td>" in told
    assert "Nobody here is" not in told


def test_nobody_inbred_is_said(family: None) -> None:
    assert "Nobody here is" in page("/animal/N1")
