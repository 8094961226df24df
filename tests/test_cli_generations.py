"""`eggtooth generations` as a user runs it."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from eggtooth.cli import main
from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.generations.ages import breeds_from, timetable
from tests.conftest import ANIMALS_HEAD, lines
from tests.route_cases import searched, task

ANIMALS = ANIMALS_HEAD + lines(
    """
    M1,,M,2023-07-01,Clown,,,,,,
    M2,,M,2023-07-01,Spider,,,,,,
    F1,,F,2022-07-01,Piebald,,,,,,
    F2,,F,2022-07-01,66% het Clown,,,,,,
    F4,,F,2026-07-01,Clown het Piebald,,,,,,
    X,,,2025-07-01,Normal,,,,,,
    """
)


@pytest.fixture
def animals(tmp_path: Path) -> str:
    path = tmp_path / "animals.csv"
    path.write_text(ANIMALS, encoding="utf-8")
    return str(path)


def ask(capsys: pytest.CaptureFixture[str], animals: str, *words: str, code: int = 0) -> Any:
    assert main(["generations", *words, "--animals", animals, "--on", "2026-11-25", "--json"]) == code
    out = capsys.readouterr()
    return json.loads(out.out) if code == 0 else out.err


def test_the_front_as_json(capsys: pytest.CaptureFixture[str], animals: str) -> None:
    """F4, of 2026, breeds from 2028 on (18 months, common practice): season 2. An egg then has 1/8."""
    found = ask(capsys, animals, "Clown Piebald", "--seasons", "2")
    (route, *_) = found["routes"]
    first, last = route["steps"]
    assert route["seasons"] == 2 and route["animals_held"] == 1 and 0 < route["p_success"] < 1
    assert (first["male"], first["female"], first["season"]) == ("M1", "F1", 1)
    assert first["keep"] == "a son: het Clown Piebald"
    assert (last["female"], last["p"], last["season"]) == ("F4", 0.125, 2)
    assert last["eggs_needed"] == {"90": 18, "95": 23}
    assert found["complete"] is True


def test_who_is_left_out_and_why(capsys: pytest.CaptureFixture[str], animals: str) -> None:
    left = {x["why"]: x["tags"] for x in ask(capsys, animals, "Clown", "--seasons", "1")["left_out"]}
    assert left["sex not known"] == ["X"]
    assert left["too young for these seasons"] == ["F4"]
    assert left["carries Spider, and a caution blocks such crosses"] == ["M2"]


def test_a_blocked_wish_has_no_route_unless_gone_against(
    capsys: pytest.CaptureFixture[str], animals: str
) -> None:
    assert ask(capsys, animals, "Spider")["routes"] == []
    assert ask(capsys, animals, "Spider", "--despite", "spider-wobble")["routes"]


def test_fixed_clutches(capsys: pytest.CaptureFixture[str], animals: str) -> None:
    """One clutch of six, visual to 66 % het: 2/3 (1 - 2^-6), by hand."""
    found = ask(capsys, animals, "Clown", "--seasons", "1", "--eggs", "6")
    assert found["routes"][0]["p_success"] == pytest.approx(2 / 3 * (1 - 0.5**6))


def test_same_question_same_bytes(capsys: pytest.CaptureFixture[str], animals: str) -> None:
    assert ask(capsys, animals, "Clown Piebald") == ask(capsys, animals, "Clown Piebald")


def test_for_people(capsys: pytest.CaptureFixture[str], animals: str) -> None:
    assert main(["generations", "Clown Piebald", "--animals", animals, "--on", "2026-11-25"]) == 0
    out = capsys.readouterr().out
    assert "young 1" in out and "surer" in out and "every route there is was looked at" in out.lower()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["Clwn"], "did you mean Clown"),
        (["Normal"], "names no gene"),
        ([""], "names no gene"),
        (["Clown", "--seasons", "9"], "1 to 8 seasons"),
        (["Clown", "--despite", "nothing"], "no caution 'nothing'"),
        (["Clown", "--machines", "tcp://127.0.0.1:1"], "machines"),
    ],
)
def test_bad_questions(capsys: pytest.CaptureFixture[str], animals: str, words: list[str], said: str) -> None:
    assert said in ask(capsys, animals, *words, code=1)


@pytest.mark.parametrize("option", [["--seasons", "x"], ["--kinship", "2"], ["--recombination", "0.6"]])
def test_wrong_use(animals: str, option: list[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(["generations", "Clown", "--animals", animals, *option])
    assert left.value.code == 2


def test_sons_breed_a_season_before_daughters() -> None:
    """Floors of 9 and 18 months (common practice), hatching in June, pairing to the end of May."""
    times = timetable(date(2026, 11, 25), 4, Settings())
    assert (times.sons_after, times.daughters_after, times.first_year) == (1, 2, 2027)
    late = timetable(date(2026, 4, 20), 4, Settings())
    assert late.first_year == 2027  # most females have ovulated: the plan starts with the season to come


@pytest.mark.parametrize(("sex", "season"), [(Sex.MALE, 1), (Sex.FEMALE, 2)])
def test_when_an_animal_here_can_breed(sex: Sex, season: int) -> None:
    on, times = date(2026, 11, 25), timetable(date(2026, 11, 25), 4, Settings())
    assert breeds_from(Animal("A", sex, hatched=date(2026, 6, 20)), times, on, Settings()) == season
    assert breeds_from(Animal("A", sex), times, on, Settings()) == 1


def test_a_tag_means_the_animal_of_its_own_colony() -> None:
    """Two houses with the same tags and other ages do not hear of each other."""
    fronts = []
    for ages in ({}, {"F": 2}):
        asked = task("Clown", {"M": "Clown"}, {"F": "het Clown"}, 2, from_season=ages)
        fronts.append([way.costs for way in searched(asked).front.ordered()])
    assert fronts == [[(1, 1, 0), (2, 2, 0)], [(2, 1, 0)]]
