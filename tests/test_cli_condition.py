"""`ready`, `wear`, `feeders`, `eggs` and `review` on plain files: keys, order, the same bytes twice."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from eggtooth.cli import main
from tests.conftest import ANIMALS_HEAD, LOG_HEAD, lines

ANIMALS = """
    M1,,M,2022-06-01,,,,,A-1-1,,
    M2,,M,2025-12-01,,,,,A-1-2,,
    F1,,F,2020-06-01,,,,,A-2-1,,
    F2,,F,2024-07-01,,,,,A-2-2,,
    H1,,,2026-01-01,,,,,A-3-1,,
"""
LOG = """
    2025-11-01,M1,weight,720,
    2026-01-02,M1,weight,690,
    2025-12-20,M1,meal,1,small rat
    2025-11-17,M1,paired,,F1
    2025-11-18,M1,lock,,F1
    2025-11-18,M1,parted,,F1
    2025-12-20,F1,weight,1900,
    2026-01-05,F2,weight,1300,
    2025-01-10,F1,scan,30,
    2025-02-10,F1,prelay shed,,
    2025-03-12,F1,laid,6,1 slugs
    2025-05-10,F1,pipped,6,
    2025-05-12,F1,hatched,6,
    2025-12-28,F1,prelay shed,,
"""
COMMANDS = ("ready", "wear", "feeders", "eggs", "review")


@pytest.fixture
def files(tmp_path: Path) -> list[str]:
    (tmp_path / "animals.csv").write_text(ANIMALS_HEAD + lines(ANIMALS))
    (tmp_path / "log.csv").write_text(LOG_HEAD + lines(LOG))
    (tmp_path / "incubators.csv").write_text("tag,places,target_c\nI1,4,31.5\n")
    named = [w for n in ("animals", "log", "incubators") for w in (f"--{n}", str(tmp_path / f"{n}.csv"))]
    return [*named, "--on", "2026-01-12"]


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main([*words, "--json"]) == 0
    said: dict[str, Any] = json.loads(capsys.readouterr().out)
    return said


def test_ready(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    found = {a["tag"]: a for a in told(capsys, "ready", *files)["animals"]}
    assert list(found) == ["M1", "M2", "F1", "F2"]
    light = found["F2"]
    assert light["sex"] == "F" and light["mass_g"]["on"] == "2026-01-12"
    assert light["mass_g"]["q05"] < light["mass_g"]["q50"] < light["mass_g"]["q95"]
    assert 0.2 < light["ready"]["p_now"] < 0.7
    assert date.fromisoformat(light["ready"]["date"]["q50"]) >= date(2026, 1, 12)
    assert light["ready"]["this_season"]["p"] > light["ready"]["p_now"]
    assert light["why"] and light["entries"]
    assert found["M2"]["ready"]["p_now"] == 0


def test_wear(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    male = told(capsys, "wear", *files)["males"][0]
    assert male["tag"] == "M1" and male["days_since_meal"] == 23
    assert male["loss_percent"] == pytest.approx(100 * 30 / 720, abs=0.01)
    assert (male["nights_in"], male["locks"]) == (1, 1)
    low, mid, high = (date.fromisoformat(male["rest_by"][q]) for q in ("q05", "q50", "q95"))
    assert date(2025, 12, 20) < low < mid < high
    assert male["state"] and male["why"]


def test_feeders(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    needs = told(capsys, "feeders", *files, "--weeks", "3")["needs"]
    assert needs and {n["week"] for n in needs} <= {"2026-01-12", "2026-01-19", "2026-01-26"}
    assert all(n["number"]["q05"] <= n["number"]["q50"] <= n["number"]["q95"] for n in needs)


def test_eggs(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    found = told(capsys, "eggs", *files)
    assert found["places"] == 4 and found["clutches"] == []
    assert max(d["q50"] for d in found["days"]) == 1
    lying = told(capsys, "eggs", *files[:-1], "2025-04-01")["clutches"][0]
    assert lying["dam"] == "F1" and lying["eggs"] == 6
    assert lying["pip"]["q05"] < lying["pip"]["q50"] < lying["pip"]["q95"]


def test_review(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    found = told(capsys, "review", *files)
    assert found["season"] == {"from": "2024-09-01", "to": "2025-08-31"}
    assert {t["what"] for t in found["tallies"]} >= {"laid", "pipped"}
    assert all(0 <= t["share_in_50"] <= t["share_in_90"] <= 1 for t in found["tallies"])
    assert {t["tag"] for t in found["told"]} == {"F1"}


@pytest.mark.parametrize("command", COMMANDS)
def test_same_input_same_bytes_and_a_table_for_people(
    command: str, files: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    main([command, *files, "--json"])
    first = capsys.readouterr().out
    main([command, *files, "--json"])
    assert capsys.readouterr().out == first
    assert main([command, *files]) == 0
    assert capsys.readouterr().out.strip()


@pytest.mark.parametrize("command", COMMANDS)
def test_an_empty_house_is_no_error(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "animals.csv").write_text(ANIMALS_HEAD)
    empty = ["--animals", str(tmp_path / "animals.csv"), "--on", "2026-01-12"]
    assert main([command, *empty]) == 0
    assert main([command, *empty, "--json"]) == 0


def test_weeks_out_of_range_is_wrong_use(files: list[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(["feeders", *files, "--weeks", "90"])
    assert left.value.code == 2
