"""Reading `wishes.csv` and `incubators.csv`."""

# ruff: noqa: E501 (refusals stand here whole, as they are printed)

from __future__ import annotations

from pathlib import Path

import pytest

from eggtooth.engine.colony import Incubator, Wish
from eggtooth.records.files.wishes import read_incubators, read_wishes, wish_text
from eggtooth.records.files.writing import wishes_text


def test_wishes(tmp_path: Path) -> None:
    path = tmp_path / "wishes.csv"
    path.write_text("wish,weight,count\nClown Piebald,2.5,3\nhet Clown female,,\n")
    assert read_wishes(path).values == [Wish("Clown Piebald", 2.5, 3), Wish("het Clown female")]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (",1,1", "wish: the wish is missing; write a look, like Clown Piebald or het Clown female"),
        ("Clwn,1,1", 'wish: "Clwn" is not a gene here; did you mean Clown?'),
        ("prove M0O3,1,1", "wish: M0O3 is not an animal here; did you mean M003?"),
        ("prove M003 clwn,1,1", 'wish: "clwn" is not a gene here; did you mean Clown?'),
        ("prove M003,1,2", "count: 2 cannot be; an animal is proved once; leave the count empty"),
        ("keep line,1,1", "wish: keep line whom? Name the animal's tag"),
        ("keep line F9,1,1", "wish: F9 is not an animal here"),
        ("Clown,-1,1", "weight: -1 cannot be; how much a wish matters is from 0 to 1e+06"),
        ("Clown,1,0", "count: 0 cannot be; how many are wanted is from 1 to 10000"),
        ("Clown,1,1.5", "count: 1.5 is not a whole number; how many are wanted is a count"),
    ],
)
def test_refused_wishes(tmp_path: Path, line: str, words: str) -> None:
    path = tmp_path / "wishes.csv"
    path.write_text(f"wish,weight,count\nClown Pied,2,\n{line}\n")
    found = read_wishes(path, wish_text, {"M003", "F12"})
    assert [str(r) for r in found.refusals] == [f"wishes.csv line 3, {words}"]
    assert found.values == [Wish("Clown Piebald", 2.0, 1)]


def test_wishes_written_and_read_again_are_the_same(tmp_path: Path) -> None:
    path = tmp_path / "wishes.csv"
    path.write_text(
        "wish,weight,count\npied CLOWN,2.5,3\nfemale het clown,,\nProve M003,,\nprove M003 pied,3,\n"
        "keep  line F12,0.1,4\nghost desert,1,1\nDesert Ghost,1,1\n"
    )
    once = read_wishes(path, wish_text, {"M003", "F12"})
    assert not once.refusals
    assert [w.text for w in once.values] == [
        "Clown Piebald", "het Clown female", "prove M003", "prove M003 Piebald", "keep line F12",
        "Desert, Ghost", "Desert Ghost",
    ]  # fmt: skip
    path.write_text(wishes_text(once.values))
    assert read_wishes(path, wish_text, {"M003", "F12"}).values == once.values


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("I1,4,31.5", "tag: I1 stands here already"),
        ("F1,4,31.5", "tag: F1 is the tag of an animal"),
        ("I2,0,31.5", "places: 0 cannot be; the number of places is from 1 to 10000"),
        ("I2,4,89", "target_c: 89 cannot be; the temperature an incubator is set to is from 20 to 40 °C; 89 °F is 31.7 °C"),
    ],
)  # fmt: skip
def test_refused_incubators(tmp_path: Path, line: str, words: str) -> None:
    path = tmp_path / "incubators.csv"
    path.write_text(f"tag,places,target_c\nI1,6,31.5\n{line}\n")
    found = read_incubators(path, frozenset({"F1"}))
    assert [str(r) for r in found.refusals] == [f"incubators.csv line 3, {words}"]
    assert found.values == [Incubator("I1", 6, 31.5)]
