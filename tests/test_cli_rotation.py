"""`rotation` on files written by hand: each rule kept and broken, the plan it goes by, bad input.

What is expected is common practice, no source, unless another is named. The week begins on Monday, 12 January
2026.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from eggtooth.cli import main
from tests.conftest import ANIMALS_HEAD, LOG_HEAD, lines

ANIMALS = """
    M1,,M,2023-06-01,,,,,A-1-1,,
    M2,,M,2023-06-01,,,,,A-1-2,,
    F1,,F,2021-06-01,,,,,A-2-1,,
    F2,,F,2021-06-01,,,,,A-2-2,,
"""
WELL = """
    2025-11-01,M1,weight,720,
    2026-01-10,M1,weight,710,
    2026-01-03,M1,meal,1,small rat
    2025-11-01,M2,weight,720,
    2026-01-10,M2,weight,710,
    2026-01-03,M2,meal,1,small rat
    2025-12-20,F1,weight,1900,
    2025-12-20,F2,weight,1900,
"""
GROWING = "2026-01-05,F1,scan,20,\n2026-01-05,F2,scan,20,\n"
MON, TUE, WED, THU, FRI = (f"2026-01-{d}" for d in range(12, 17))
Nights = list[dict[str, Any]]
Pairs = dict[tuple[str, str], float]


def plan_of(pairs: Pairs) -> str:
    """A plan as `eggtooth pairings --json` writes it."""
    rows = [
        {
            "male": m,
            "female": f,
            "value": v,
            "role": "first",
            "p_wishes": [{"wish": "Clown Piebald", "p": 0.25}],
        }
        for (m, f), v in pairs.items()
    ]
    return json.dumps({"pairs": rows})


@pytest.fixture
def ask(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., Nights]:
    """Ask for the coming nights of a colony written out by hand."""

    def asked(
        log: str, on: str, plan: Pairs | None = None, nights: int = 1, animals: str = ANIMALS
    ) -> Nights:
        (tmp_path / "animals.csv").write_text(ANIMALS_HEAD + lines(animals))
        (tmp_path / "log.csv").write_text(LOG_HEAD + lines(log))
        words = ["rotation", "--animals", f"{tmp_path}/animals.csv", "--log", f"{tmp_path}/log.csv"]
        words += ["--on", on, "--nights", str(nights), "--json"]
        if plan is not None:
            (tmp_path / "plan.json").write_text(plan_of(plan))
            words += ["--plan", f"{tmp_path}/plan.json"]
        code = main(words)
        out = capsys.readouterr()
        assert code == 0, out.err
        found: Nights = json.loads(out.out)["nights"]
        return found

    return asked


def went_in(night: dict[str, Any]) -> set[tuple[str, str]]:
    return {(m["male"], m["female"]) for m in night["moves"] if m["action"] == "move in"}


Ask = Callable[..., Nights]


def test_one_night_each_with_date_moves_and_why(ask: Ask) -> None:
    nights = ask(WELL + GROWING, MON, nights=7)
    assert [n["date"] for n in nights] == [f"2026-01-{d}" for d in range(12, 19)]
    assert all(set(m) >= {"male", "female", "action", "why"} and m["why"] for n in nights for m in n["moves"])


def test_in_from_monday_to_thursday_apart_on_friday_and_off_at_the_weekend(ask: Ask) -> None:
    nights = ask(WELL + GROWING, MON, nights=8)
    assert [bool(went_in(n)) for n in nights] == [True] * 4 + [False] * 3 + [True]
    assert {m["action"] for m in nights[4]["moves"]} == {"part"}
    assert not nights[5]["moves"] and not nights[6]["moves"]


def test_each_male_moves_on_every_night(ask: Ask) -> None:
    nights = [went_in(n) for n in ask(WELL + GROWING, MON, nights=4)]
    assert all(not (a & b) for a, b in pairwise(nights))


def test_no_two_males_with_one_female(ask: Ask) -> None:
    for night in ask(WELL + GROWING, MON, nights=4):
        females = [f for _, f in went_in(night)]
        assert len(females) == len(set(females))


def test_only_planned_pairs_meet_and_the_line_says_what_for(ask: Ask) -> None:
    night = ask(WELL + GROWING, MON, {("M2", "F1"): 3.0})[0]
    assert went_in(night) == {("M2", "F1")}
    assert "wanted for Clown Piebald" in night["moves"][0]["why"]


def test_the_pair_worth_more_comes_first(ask: Ask) -> None:
    plan = {("M1", "F1"): 1.0, ("M1", "F2"): 5.0}
    assert went_in(ask(WELL + GROWING, MON, plan)[0]) == {("M1", "F2")}
    assert went_in(ask(WELL + GROWING, MON, {p: 6 - v for p, v in plan.items()})[0]) == {("M1", "F1")}


def test_the_spare_waits_while_the_first_can_come(ask: Ask) -> None:
    plan = {("M1", "F1"): 4.0, ("M2", "F1"): 2.0}
    assert went_in(ask(WELL + GROWING, MON, plan)[0]) == {("M1", "F1")}


def test_the_spare_goes_when_the_first_is_rested(ask: Ask) -> None:
    plan = {("M1", "F1"): 4.0, ("M2", "F1"): 2.0}
    rested = WELL + GROWING + "2026-01-08,M1,rested,,worn"
    assert went_in(ask(rested, MON, plan)[0]) == {("M2", "F1")}


def test_few_locks_come_first(ask: Ask) -> None:
    locks = (
        "2025-12-30,M1,paired,,F1\n2025-12-31,M1,lock,,F1\n2026-01-01,M1,lock,,F1\n2026-01-01,M1,parted,,F1"
    )
    plan = {("M1", "F1"): 1.0, ("M1", "F2"): 1.0}
    assert went_in(ask(WELL + GROWING + locks, MON, plan)[0]) == {("M1", "F2")}


def test_a_female_in_her_window_comes_before_one_below_12_mm(ask: Ask) -> None:
    days = ((10, "F1"), (15, "F2"))
    met = "".join(f"2025-12-{d},M1,paired,,{f}\n2025-12-{d + 1},M1,parted,,{f}\n" for d, f in days)
    scans = "2026-01-05,F1,scan,24,\n2026-01-05,F2,scan,8,\n"
    plan = {("M1", "F1"): 1.0, ("M1", "F2"): 1.0}
    assert went_in(ask(WELL + met + scans, MON, plan)[0]) == {("M1", "F1")}


def test_a_female_below_12_mm_is_visited_too_when_she_met_nobody(ask: Ask) -> None:
    scans = "2026-01-05,F1,scan,8,\n"
    night = ask(WELL + scans, MON, {("M1", "F1"): 1.0})[0]
    assert went_in(night) == {("M1", "F1")}
    assert "may start her" in night["moves"][0]["why"]


def test_visits_go_on_after_two_locks_until_she_has_ovulated(ask: Ask) -> None:
    locks = (
        "2026-01-05,M1,paired,,F1\n2026-01-06,M1,lock,,F1\n2026-01-07,M1,lock,,F1\n2026-01-09,M1,parted,,F1\n"
    )
    plan = {("M1", "F1"): 1.0}
    late = "2026-01-10,F1,scan,36,\n"
    assert went_in(ask(WELL + GROWING + locks + late, MON, plan)[0])
    assert not went_in(ask(WELL + GROWING + locks + late + "2026-01-11,F1,ovulation,,", MON, plan)[0])


def test_four_females_a_week_for_a_male_at_most(ask: Ask) -> None:
    more = "".join(f"F{i},,F,2021-06-01,,,,,A-3-{i},,\n" for i in range(3, 8))
    seen = "".join(f"2025-12-20,F{i},weight,1900,\n2026-01-05,F{i},scan,20,\n" for i in range(3, 8))
    visits = "".join(f"{MON},M1,paired,,F{i}\n{MON},M1,parted,,F{i}\n" for i in (3, 4, 5, 6))
    plan = {("M1", f"F{i}"): 1.0 for i in range(1, 8)}
    log = WELL + GROWING + seen
    assert went_in(ask(log + visits, TUE, plan, animals=ANIMALS + more)[0]) == set()
    few = "\n".join(visits.splitlines()[:6])
    assert len(went_in(ask(log + few, TUE, plan, animals=ANIMALS + more)[0])) == 1


def test_a_male_near_his_limit_rests_on_the_nights_to_come(ask: Ask) -> None:
    """Common practice rests a male 60 to 90 days after his last meal; he must rest by about 21 January."""
    fasting = WELL.replace("2026-01-03,M1,meal,1,small rat", "2025-11-13,M1,meal,1,small rat")
    begun = "2025-11-17,M1,paired,,F1\n2025-11-18,M1,parted,,F1\n"
    nights = ask(fasting + begun + GROWING, MON, {("M1", "F1"): 1.0, ("M1", "F2"): 1.0}, nights=15)
    assert went_in(nights[0])
    assert not any(went_in(n) for n in nights[10:])


def test_same_input_same_answer_and_nothing_seen_ahead(ask: Ask) -> None:
    one = ask(WELL + GROWING, MON, nights=5)
    later = f"{TUE},M1,lock,,F2\n{WED},F1,ovulation,,\n"
    assert ask(WELL + GROWING, MON, nights=5) == one
    assert ask(WELL + GROWING + later, MON, nights=5) == one


def run(tmp_path: Path, *more: str) -> int:
    (tmp_path / "animals.csv").write_text(ANIMALS_HEAD + lines(ANIMALS))
    return main(["rotation", "--animals", f"{tmp_path}/animals.csv", "--on", MON, *more])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "not a plan"),
        ("{}", "not a plan"),
        ('{"pairs": [{"male": "M1"}]}', "not a plan"),
        (
            '{"pairs": [{"male": "M1", "female": "F9", "value": 1}]}',
            "F9 is not an animal here",
        ),
        ('{"pairs": [{"male": "M1", "female": "F1", "value": -1}]}', "0 or more"),
    ],
)
def test_what_is_no_plan_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, said: str
) -> None:
    (tmp_path / "plan.json").write_text(text)
    assert run(tmp_path, "--plan", f"{tmp_path}/plan.json") == 1
    assert said in capsys.readouterr().err


@pytest.mark.parametrize("nights", ["0", "29", "-1", "many", "1.5"])
def test_a_number_of_nights_that_cannot_be_is_wrong_use(tmp_path: Path, nights: str) -> None:
    with pytest.raises(SystemExit) as left:
        run(tmp_path, "--nights", nights)
    assert left.value.code == 2


def test_keeping_needs_a_store_and_a_plan(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(tmp_path, "--keep") == 2
    assert main(["rotation", "--keep"]) == 2
    assert "--plan" in capsys.readouterr().err


def test_a_missing_plan_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(tmp_path, "--plan", f"{tmp_path}/none.json") == 1
    assert "cannot be read" in capsys.readouterr().err


def test_a_table_for_people(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(tmp_path, "--nights", "2") == 0
    assert "Monday 12 January 2026" in capsys.readouterr().out
