"""`forecast` and `learn` on files written by hand: the shape of the answer, and what it says."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from eggtooth.cli import main
from tests.conftest import ANIMALS_HEAD, LOG_HEAD, lines

ANIMALS = """
    F01,,F,2021-06-01,,,,,A-1-1,here,
    F02,,F,2021-06-01,,,,,A-1-2,here,
    F03,,F,2025-07-01,,,,,A-1-4,here,
    M01,,M,2021-06-01,,,,,A-1-3,here,
"""
LOG = """
    2024-11-20,F01,scan,14,
    2024-12-05,F01,paired,,M01
    2025-01-20,F01,ovulation,,
    2025-02-08,F01,prelay shed,,
    2025-03-11,F01,laid,6,
    2025-12-01,F01,scan,13,
    2026-01-05,F01,scan,20,7 follicles
    2026-01-10,F01,paired,,M01
    2026-02-01,F02,ovulation,,
    2025-12-01,F03,weight,240,
"""
STAGES = {"resting", "growing", "building", "ovulated", "shed", "laid", "reabsorbed"}
DATES = {"pairing_opens", "off_food", "ovulation", "prelay_shed", "laid", "pip"}
LEVELS = ["q05", "q25", "q50", "q75", "q95"]


@pytest.fixture
def files(tmp_path: Path) -> list[str]:
    """The two files as arguments."""
    (tmp_path / "animals.csv").write_text(ANIMALS_HEAD + lines(ANIMALS))
    (tmp_path / "log.csv").write_text(LOG_HEAD + lines(LOG))
    return [
        "--animals",
        str(tmp_path / "animals.csv"),
        "--log",
        str(tmp_path / "log.csv"),
        "--on",
        "2026-02-10",
    ]


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    """The json answer."""
    assert main([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_forecast_json(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    told = asked(capsys, "forecast", *files)
    assert told["on"] == "2026-02-10"
    assert [f["tag"] for f in told["females"]] == ["F01", "F02"], "a yearling of 240 g has no season"
    for female in told["females"]:
        assert set(female["stages"]) == STAGES and sum(female["stages"].values()) == pytest.approx(
            1, abs=1e-4
        )
        assert 0 <= female["p_lays"] <= 1 and set(female["dates"]) >= DATES
        for span in female["dates"].values():
            days = [date.fromisoformat(span[level]) for level in LEVELS]
            assert days == sorted(days)
        assert female["entries"]
    seen = told["females"][1]["dates"]["ovulation"]
    assert {seen[level] for level in LEVELS} == {"2026-02-01"}
    assert told["females"][1]["next_scan"] is None
    assert told["females"][0]["next_scan"]["on"] >= "2026-02-10"


def test_forecast_is_the_same_bytes_again(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert asked(capsys, "forecast", *files) == asked(capsys, "forecast", *files)


def test_forecast_for_people(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["forecast", *files]) == 0
    out = capsys.readouterr().out
    assert "F01" in out and "90 % span" in out


def test_learn_json_and_its_choices(files: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    told = asked(capsys, "learn", *files)["parameters"]
    by_name = {p["name"]: p for p in told}
    assert {"name", "unit", "prior", "now", "n"} <= set(told[0])
    assert by_name["ovulation to pre-lay shed"]["n"] == 1
    assert by_name["ovulation to pre-lay shed"]["prior"] == pytest.approx(18)
    assert by_name["ovulation to pre-lay shed"]["now"] > 18, "19 days last season"
    assert main(["learn", *files]) == 0
    assert "Forecasts do not use these rates" in capsys.readouterr().out
    assert main(["learn", *files, "--keep"]) == 2
