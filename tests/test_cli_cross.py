"""`eggtooth cross`: the answer in json and for people, and what it says when the question is wrong."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from eggtooth.cli import main
from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.jobs.cross import Asked, UnfitPair, answer, as_json


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    """The json answer."""
    assert main(["cross", *words, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_json_holds_what_a_script_needs(capsys: pytest.CaptureFixture[str]) -> None:
    found = asked(capsys, "het Clown Pied", "het Clown Pied", "--eggs", "6")
    first = found["outcomes"][0]
    assert first["looks"] == ["Normal"]
    assert first["sex"] is None
    assert (first["p"], first["exact"]) == (0.5625, "9/16")
    assert {c["gene"]: round(c["p"], 12) for c in first["carries"]} == {
        "Clown": 0.666666666667,
        "Piebald": 0.666666666667,
    }
    assert first["at_least_one"] == pytest.approx(1 - (7 / 16) ** 6, abs=1e-12)
    assert found["lost_before_hatch"] == {"p": 0.0, "exact": "0"}
    assert found["cautions"] == []
    assert sum(o["p"] for o in found["outcomes"]) == pytest.approx(1, abs=1e-12)


def test_sex_is_told_when_a_sex_linked_gene_is_in_play(capsys: pytest.CaptureFixture[str]) -> None:
    # Six eggs, r = 0.07, male maker: at least one banana son 0.9766, daughter 0.1925 (worked by hand).
    found = asked(capsys, "Banana male maker", "Normal", "--eggs", "6")
    odds = {(o["sex"], o["looks"][0]): o["at_least_one"] for o in found["outcomes"]}
    assert odds[("M", "Banana")] == pytest.approx(0.9766, abs=5e-5)
    assert odds[("F", "Banana")] == pytest.approx(0.1925, abs=5e-5)
    half = asked(capsys, "Banana male maker", "Normal", "--recombination", "1/2")
    assert {o["exact"] for o in half["outcomes"]} == {"1/4"}


def test_losses_and_outcomes_make_one(capsys: pytest.CaptureFixture[str]) -> None:
    found = asked(capsys, "Spider het Clown", "Spider het Clown", "--take", "spider-two-copies=lost")
    assert found["lost_before_hatch"]["exact"] == "1/4"
    assert sum(o["p"] for o in found["outcomes"]) + 0.25 == pytest.approx(1, abs=1e-12)
    assert {c["id"] for c in found["cautions"]} >= {"spider-wobble", "spider-two-copies"}


def test_both_readings_of_two_copies_of_spider(capsys: pytest.CaptureFixture[str]) -> None:
    (unsure,) = asked(capsys, "Spider", "Spider")["unsure"]
    assert (unsure["look"], unsure["p"], unsure["if_lives"]) == ("Spider", 0.25, 0.75)
    assert unsure["if_lost"] == pytest.approx(2 / 3, abs=1e-12)


def test_the_rest_is_one_figure(capsys: pytest.CaptureFixture[str]) -> None:
    found = asked(capsys, "het Clown Pied", "het Clown Pied", "--best", "1")
    assert found["rest"] == {"looks": 3, "p": 0.4375, "exact": "7/16"}


def test_same_question_same_bytes(capsys: pytest.CaptureFixture[str]) -> None:
    texts = []
    for _ in range(2):
        main(["cross", "Banana Lesser het Clown", "Banana Mojave 66% het Clown", "--json"])
        texts.append(capsys.readouterr().out)
    assert texts[0] == texts[1]


def test_for_people(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["cross", "Bumblebee", "Pastel", "--eggs", "6", "--despite", "spider-wobble=old line"]) == 0
    out = capsys.readouterr().out
    assert "Bumblebee" in out
    assert "1/4 · 25.0%" in out
    assert "of 100 eggs" in out
    assert "82 of 100" in out
    assert "old line" in out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["Clwn", "Pied"], '"Clwn" is not a gene here; did you mean Clown?'),
        (["Pastel", "Banana male maker"], "is said of a male, not of the dam"),
        (["Pastel female", "Clown"], "cannot be the sire"),
        (["Pastel", "Clown", "--take", "spider=lost"], "is no disputed point"),
        (["Pastel", "Clown", "--genes", "/nowhere.toml"], "No such file"),
    ],
)
def test_data_at_fault(capsys: pytest.CaptureFixture[str], words: list[str], says: str) -> None:
    assert main(["cross", *words]) == 1
    told = capsys.readouterr()
    assert says in told.err
    assert told.out == ""


@pytest.mark.parametrize(
    "words", [["Pastel"], ["Pastel", "Clown", "--eggs", "0"], ["P", "C", "--recombination", "2"]]
)
def test_wrong_use(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(["cross", *words])
    assert left.value.code == 2
    assert capsys.readouterr().err


COLONY = Colony.of(
    [
        Animal("M1", Sex.MALE, genes="Banana", sires=("M2",), dam="F2"),
        Animal("M2", Sex.MALE, genes="Banana (female maker)"),
        Animal("F1", Sex.FEMALE, genes="het Clown"),
        Animal("F2", Sex.FEMALE, genes="Normal"),
        Animal("M3", Sex.MALE, genes="Banana", sires=("M2",), dam="F3"),
        Animal("F3", Sex.FEMALE, genes="Banana"),
    ]
)


def test_a_banana_male_got_it_from_his_sire_so_he_is_a_male_maker() -> None:
    # A copy from the sire came with the Y (Mallery & Carrillo 2016 and Gamble et al. 2017 for the direction).
    found = as_json(answer(Asked("M1", "F2"), COLONY))
    assert {(o["sex"], *o["looks"]): o["exact"] for o in found["outcomes"]} == {
        ("M", "Banana"): "93/200", ("F", "Normal"): "93/200",
        ("M", "Normal"): "7/200", ("F", "Banana"): "7/200",
    }  # fmt: skip


def test_two_banana_parents_leave_his_phase_a_chance() -> None:
    # Female maker with banana dam: a one-copy son is a male maker with chance r.
    found = as_json(answer(Asked("M3", "F2"), COLONY))
    sons = next(o for o in found["outcomes"] if o["looks"] == ["Banana"] and o["sex"] == "M")
    assert sons["p"] == pytest.approx((0.07 * 0.93 + 0.93 * 0.07) / 2, abs=1e-12)


@pytest.mark.parametrize(
    ("sire", "dam", "says"),
    [
        ("F1", "F2", "F1 is recorded as female, so it cannot be the sire"),
        ("M1", "F22", "The nearest tag is F2."),
    ],
)
def test_a_pair_that_cannot_be(sire: str, dam: str, says: str) -> None:
    with pytest.raises(UnfitPair, match=says):
        answer(Asked(sire, dam), COLONY)


def test_odds_from_the_family_are_taken_when_given() -> None:
    clown = answer(Asked("M2", "F1"), COLONY).cross.loci[1].locus

    def from_family(tag: str) -> dict[Any, Any]:
        return {clown: {(0, 1): 0.25, (0, 0): 0.75}} if tag == "F1" else {}

    found = answer(Asked("M2", "F1"), COLONY, from_family)
    assert float(dict(found.rows[0].outcome.carries)["Clown"]) == pytest.approx(0.125)
    assert as_json(found)["outcomes"][0]["exact"] is None


ANIMALS = """tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note
M1,,M,2018-06-01,Clown,,,,,,
F1,,F,2018-06-01,Normal,,,,,,
F2,,F,2020-06-01,Normal,M1,F1,,,,
M2,,M,2019-06-01,het Clown,,,,,,
F3,,F,2020-06-01,het Clown,,,,,,
F4,,F,2022-06-01,Normal,M2,F3,,,,
"""


@pytest.mark.parametrize(
    ("dam", "exact"),
    [
        ("F2", "1/4"),  # daughter of a visual: surely het (Mendel's rules)
        ("F4", "1/6"),  # normal-looking daughter of two hets: het with 2/3 (Mendel's rules)
        ("F1", None),
    ],
)
def test_tags_bring_what_the_family_says(
    dam: str, exact: str | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "animals.csv").write_text(ANIMALS)
    files = ["--animals", str(tmp_path / "animals.csv"), "--on", "2026-01-31"]
    found = asked(capsys, "M2", dam, "--eggs", "6", *files)
    odds = {o["looks"][0]: o["exact"] for o in found["outcomes"]}
    assert odds.get("Clown") == exact


def test_an_unknown_tag_names_the_nearest(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "animals.csv").write_text(ANIMALS)
    assert main(["cross", "M2", "F22", "--animals", str(tmp_path / "animals.csv"), "--on", "2026-01-31"]) == 1
    assert "The nearest tag is F2." in capsys.readouterr().err


def test_clutch_figures_of_a_look(capsys: pytest.CaptureFixture[str]) -> None:
    # Both sexes of a quarter class in 28 eggs 95 %; two or more of it in six eggs by the binomial (computed).
    found = asked(capsys, "het Clown", "het Clown", "--eggs", "6")
    pair = next(s for s in found["both_sexes"] if s["looks"] == ["Clown"])
    assert pair["eggs_for_95"] == 28
    assert pair["at_least_one_of_each"] == pytest.approx(1 - 2 * (7 / 8) ** 6 + (3 / 4) ** 6, abs=1e-12)
    row = answer(Asked("het Clown", "het Clown", eggs=6)).rows[1]
    assert row.hope.at_least(2) == pytest.approx(1 - 0.75**6 - 6 * 0.25 * 0.75**5, abs=1e-12)


def test_an_animal_not_hatched_yet_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "animals.csv").write_text(ANIMALS)
    assert main(["cross", "M2", "F4", "--animals", str(tmp_path / "animals.csv"), "--on", "2021-01-31"]) == 1
    assert "F4" in capsys.readouterr().err
