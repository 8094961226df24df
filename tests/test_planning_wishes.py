"""Wishes: a look, an animal to prove, a line to keep; canonical, and refused in a sentence."""

from __future__ import annotations

import pytest

from eggtooth.engine.planning.wishes import Aim, WishError, read_wish

TAGS = {"M03", "F12", "Big Anna"}


@pytest.mark.parametrize(
    ("typed", "canonical"),
    [
        ("pied clown", "Clown Piebald"),
        ("  HET clown   female ", "het Clown female"),
        ("Super Pastel", "Super Pastel"),
        ("prove M03", "prove M03"),
        ("Prove  M03 pied", "prove M03 Piebald"),
        ("prove Big Anna clown", "prove Big Anna Clown"),
        ("Keep line F12", "keep line F12"),
        ("keep line Big Anna", "keep line Big Anna"),
    ],
)
def test_read_and_written_canonically(typed: str, canonical: str) -> None:
    said = read_wish(typed, TAGS)
    assert said.text == canonical
    assert read_wish(said.text, TAGS) == said


def test_what_is_read() -> None:
    assert read_wish("prove M03 Pied", TAGS).locus == "Piebald"
    assert read_wish("prove M03 Mojave", TAGS).locus == read_wish("prove M03 Lesser", TAGS).locus
    assert read_wish("keep line F12", TAGS).aim is Aim.LINE
    look = read_wish("het Clown female", TAGS).look
    assert look is not None and look.sex == "F"


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("Clwn", "did you mean Clown"),
        ("prove", "prove whom"),
        ("prove M04", "is not an animal here"),
        ("prove M03 Clwn", "did you mean Clown"),
        ("prove M03 Clown Piebald", "one gene is proved at a time"),
        ("keep line", "keep line whom"),
        ("keep line F12 Clown", "nothing more is read"),
        ("", "the wish is missing"),
    ],
)
def test_refused(typed: str, why: str) -> None:
    with pytest.raises(WishError, match=why):
        read_wish(typed, TAGS)
