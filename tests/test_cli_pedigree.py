"""The three commands on plain files."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from eggtooth.cli import main

ANIMALS = """tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note
M1,,M,2018-07-01,Clown,,,,A-1-1,,
M2,,M,2018-07-01,66% het Clown,,,,A-1-2,,
F1,,F,2018-07-01,het Clown,,,,A-1-3,,
K1,,F,2022-07-01,Clown,M1|M2,F1,C1,A-1-4,,
K2,,M,2022-07-01,66% het Clown,M1|M2,F1,C1,A-1-5,,
"""


@pytest.fixture
def files(tmp_path: Path) -> list[str]:
    """Two files of a small colony."""
    (tmp_path / "animals.csv").write_text(ANIMALS)
    return ["--animals", str(tmp_path / "animals.csv"), "--on", "2025-01-01"]


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    assert main([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_carriers(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Keys, odds and the claim beside them."""
    found = told(capsys, "carriers", *files)
    by_tag = {a["tag"]: a for a in found["animals"]}
    assert by_tag["M1"]["loci"] == [{"locus": "Clown", "genotypes": [{"genotype": "Clown/Clown", "p": 1.0}]}]
    assert sum(g["p"] for g in by_tag["K2"]["loci"][0]["genotypes"]) == pytest.approx(1)
    assert by_tag["K2"]["claims"] == [{"locus": "Clown", "gene": "Clown", "p": pytest.approx(2 / 3)}]
    assert found["contradictions"] == []


def test_sires(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Visual sire 2x, 66 % het 2/3 x: one visual, one normal-looking young: A 1/4 to B 2/3 x 3/16
    (computed)."""
    (clutch,) = told(capsys, "sires", *files)["clutches"]
    assert (clutch["clutch"], clutch["dam"]) == ("C1", "F1")
    odds = {s["tag"]: s["p"] for s in clutch["sires"]}
    assert odds["M1"] == pytest.approx(0.25 / (0.25 + 2 / 3 * 3 / 16), abs=1e-12)
    assert {e["tag"] for e in clutch["eggs"]} == {"K1", "K2"}


def test_kinship(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Dam and young 1/4; an even candidate sire and young 1/8; full or half sibs 3/16."""
    found = told(capsys, "kinship", *files, "--pairs", "all")
    pairs = {(p["a"], p["b"]): p["kinship"] for p in found["pairs"]}
    assert (pairs["F1", "K1"], pairs["M1", "K1"], pairs["K1", "K2"]) == pytest.approx((0.25, 0.125, 0.1875))
    assert set(found["inbreeding"]) == {"M1", "M2", "F1", "K1", "K2"}


@pytest.mark.parametrize("command", ["carriers", "sires", "kinship"])
def test_tables_for_people(command: str, files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """A table comes out and names an animal."""
    assert main([command, *files]) == 0
    assert "K1" in capsys.readouterr().out or command == "sires"


def test_rates_that_leave_nothing_right(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """A laboratory that is never right is refused in words."""
    with pytest.raises(SystemExit) as left:
        main(["carriers", *files, "--test-misses", "0.9", "--test-error", "0.5"])
    assert left.value.code == 2
    assert "is never right" in capsys.readouterr().err


def test_what_chains_do_not_agree_on_is_called_so(
    files: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With every figure beyond the limit the table gives none, and the json still has the genotypes."""
    monkeypatch.setattr("eggtooth.engine.pedigree.answers.UNSETTLED", -1.0)
    assert main(["carriers", *files]) == 0
    shown = capsys.readouterr().out
    assert "Clown/+ not settled" in shown and "%" not in shown.replace("67% het", "")
    assert told(capsys, "carriers", *files)["animals"][1]["loci"][0]["genotypes"]


def test_a_share_must_be_one(files: list[str]) -> None:
    """Wrong use leaves with 2."""
    with pytest.raises(SystemExit) as left:
        main(["carriers", *files, "--look-error", "7"])
    assert left.value.code == 2


def test_prove(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Her visual daughter and she herself are kin over the limit; the laboratory is left."""
    found = told(capsys, "prove", "K2", *files, "--test-misses", "10%", "--test-invents", "0")
    (way,) = found["questions"]
    assert way["locus"] == "Clown" and 0 < way["p"] < 1
    assert way["mates"] == [] and {b["tag"] for b in way["left_out"]} == {"F1", "K1"}
    missed = 0.1 * way["p"]
    assert way["laboratory"]["after_not_found"] == pytest.approx(missed / (missed + 1 - way["p"]))
    assert way["laboratory"]["after_found"] == 1


def test_prove_says_what_it_does_not_know(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """An unknown tag leaves with 1 and names the nearest."""
    assert main(["prove", "K22", *files]) == 1
    assert "did you mean K2" in capsys.readouterr().err
    assert main(["prove", "K2", *files]) == 0
    assert "Laboratory" in capsys.readouterr().out
    assert main(["prove", *files]) == 0
    assert "K2" in capsys.readouterr().out


FAMILY = """tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note
M1,,M,2018-07-01,Normal,,,,A-1-1,,
F1,,F,2018-06-01,Normal,,,,A-1-2,,
S1,,M,2020-07-01,Normal,M1,F1,C1,A-1-3,,
D1,,F,2020-07-01,Normal,M1,F1,C1,A-1-4,,
K1,,M,2023-07-01,Normal,S1,D1,C2,A-1-5,,
K2,,F,2023-07-01,Normal,M1,D1,C3,A-1-6,,
K3,,F,2023-07-01,Normal,M1,F1,C4,A-1-7,,
B1,,F,,Normal,,,,A-1-8,,
"""


def test_inbreeding_by_year_of_hatch(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Young of full sibs and of sire and daughter have F = 1/4 (Wright 1922; Falconer & Mackay 1996)."""
    (tmp_path / "animals.csv").write_text(FAMILY)
    words = ["kinship", "--animals", str(tmp_path / "animals.csv"), "--on", "2025-01-01"]
    rows = {r["year"]: r for r in told(capsys, *words)["by_year"]}
    assert list(rows) == [2018, 2020, 2023, None]
    assert rows[2023] == {
        "year": 2023,
        "n": 3,
        "mean": pytest.approx(1 / 6),
        "sd": pytest.approx((1 / 48) ** 0.5),
        "most": 0.25,
    }
    assert rows[None]["sd"] is None and rows[2020]["mean"] == 0
    assert main(words) == 0
    assert "16.7%" in capsys.readouterr().out


@pytest.mark.parametrize("base", ["0.05", "5%"])
def test_base_of_unknown_parents(base: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Unknown parents with coancestry b: F becomes b + (1 - b) F, K1 0.05 + 0.95 / 4 (idea of Aguilar &
    Misztal 2008; computed)."""
    (tmp_path / "animals.csv").write_text(FAMILY)
    words = ["kinship", "--animals", str(tmp_path / "animals.csv"), "--on", "2025-01-01", "--base", base]
    found = told(capsys, *words, "--pairs", "all")
    assert found["inbreeding"]["K1"] == pytest.approx(0.2875)
    assert found["inbreeding"]["B1"] == pytest.approx(0.05)
    assert {(p["a"], p["b"]): p["kinship"] for p in found["pairs"]}["M1", "B1"] == pytest.approx(0.05)
