"""`eggtooth pairings`, as a user meets it: the plan, pins, bans, what if, and what it says no to."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from eggtooth.cli import main
from eggtooth.engine.cycle.forecast import Outlook
from eggtooth.engine.cycle.prior import PRIOR, written
from eggtooth.engine.house import Settings
from eggtooth.jobs.bring_in import bring_in
from eggtooth.jobs.forecast import outlooks_on
from eggtooth.jobs.gather import NOTATION, Source
from eggtooth.jobs.invent import invent
from eggtooth.jobs.pairings import who_takes_part
from eggtooth.records import store
from eggtooth.records.files.reading import Paths
from tests.conftest import ANIMALS_HEAD, LOG_HEAD, lines

ON = "2025-12-01"
ANIMALS = """
    M1,,M,2021-06-01,Clown,,,,A-1-1,,
    M2,,M,2021-06-01,Piebald,,,,A-1-2,,
    M3,,M,2021-06-01,Spider,,,,A-1-3,,
    M4,,M,2022-06-01,Clown,M1,F1,,A-1-4,,
    F1,,F,2019-06-01,Clown,,,,B-1-1,,
    F2,,F,2019-06-01,het Piebald,,,,B-1-2,,
    F3,,F,2019-06-01,50% het Clown,,,,B-1-3,,
    F4,,F,2019-06-01,Normal,,,,B-1-4,,
    F5,,F,2025-06-01,Clown,,,,B-1-5,,
    F6,,F,2019-06-01,Clown,,,,Q-1-1,,
    F7,,F,2019-06-01,Champagne,,,,B-1-7,,
"""
MASS_G = {"M1": 800, "M2": 820, "M3": 850, "M4": 700, "F1": 1900, "F2": 1800, "F3": 2000, "F4": 1900}
MASS_G |= {"F5": 150, "F6": 1900, "F7": 1900}
LOG = "".join(f"2025-11-20,{tag},weight,{g},\n" for tag, g in MASS_G.items())
WISHES = "wish,weight,count\nClown,3,2\nPiebald,2,1\nprove F3,1,\nkeep line M3,0.5,2\n"

Ask = Callable[..., dict[str, Any]]


@pytest.fixture
def files(tmp_path: Path) -> Paths:
    (tmp_path / "animals.csv").write_text(ANIMALS_HEAD + lines(ANIMALS))
    (tmp_path / "log.csv").write_text(LOG_HEAD + LOG)
    (tmp_path / "wishes.csv").write_text(WISHES)
    return Paths(*(tmp_path / f"{name}.csv" for name in ("animals", "log", "wishes")))


@pytest.fixture
def ask(files: Paths, capsys: pytest.CaptureFixture[str]) -> Ask:
    def asked(*more: str, code: int = 0) -> dict[str, Any]:
        named = ["--animals", str(files.animals), "--log", str(files.log), "--wishes", str(files.wishes)]
        assert main(["pairings", *named, "--on", ON, "--json", *more]) == code
        said = capsys.readouterr()
        return json.loads(said.out) if said.out else {"err": said.err}

    return asked


def firsts(plan: dict[str, Any]) -> dict[str, str]:
    return {p["female"]: p["male"] for p in plan["pairs"] if p["role"] == "first"}


def test_the_plan(ask: Ask) -> None:
    plan = ask()
    assert plan["status"] == "optimal" and plan["gap"] <= 1e-6 and plan["bound"] >= plan["value"] > 0
    assert firsts(plan)["F1"] == "M1"  # visual to visual; her own son is too close
    assert firsts(plan)["F2"] == "M2"
    assert firsts(plan)["F3"] in ("M1", "M4")  # a visual settles most whether she carries it
    one = next(p for p in plan["pairs"] if (p["male"], p["female"]) == ("M2", "F2"))
    pied = next(w for w in one["p_wishes"] if w["wish"] == "Piebald")
    assert pied["p"] == pytest.approx(0.5) and 0 < pied["at_least_one"] < 1
    proved = next(
        w for p in plan["pairs"] if p["female"] == "F3" for w in p["p_wishes"] if w["wish"] == "prove F3"
    )
    assert 0.5 < proved["p"] <= 1
    assert all(p["why"] for p in plan["pairs"])


def test_who_is_left_over_and_why(ask: Ask) -> None:
    why = {u["tag"]: u["why"] for u in ask()["unplaced"]}
    assert "quarantine" in why["F6"] and "hardly to be counted on" in why["F5"]
    assert "F1" not in why


def test_no_pair_too_close_or_harmful_even_as_spare(ask: Ask) -> None:
    pairs = {(p["male"], p["female"]) for p in ask()["pairs"]}
    assert ("M4", "F1") not in pairs  # her son: the young would be inbred a quarter
    assert ("M3", "F7") not in pairs  # spider and champagne together


def test_pins_bans_and_what_if(ask: Ask) -> None:
    usual = ask()
    pinned = ask("--pin", "M2:F4")
    assert firsts(pinned)["F4"] == "M2"
    assert pinned["value"] <= usual["value"] + 1e-9 and pinned["compared"]["costs"] >= 0
    banned = ask("--ban", "M1:F1")
    assert firsts(banned).get("F1") != "M1" and banned["value"] < usual["value"]
    gone = ask("--without", "M2")
    assert "M2" not in {p["male"] for p in gone["pairs"]} and gone["value"] < usual["value"]
    assert {"female": "F2", "from": "M2", "to": firsts(gone).get("F2")} in gone["compared"]["changed"]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--pin", "M1:F1", "--pin", "M2:F1"], "F1 can have one first male"),
        (["--pin", "M4:F1"], "M4 pinned to F1 cannot be: their young would be inbred 25.0%"),
        (["--pin", "M1:F6"], "F6 takes no part (in quarantine (rack Q))"),
        (["--pin", "M3:F7"], "M3 pinned to F7 cannot be: "),
        (["--pin", "M1:F1", "--without", "M1"], "M1 takes no part (left out, as you asked)"),
    ],
)
def test_pins_that_clash_are_named(ask: Ask, more: list[str], said: str) -> None:
    plan = ask(*more, code=1)
    assert plan["status"] == "clash" and plan["pairs"] == []
    assert any(said in line for line in plan["clash"])


def test_a_harmful_pair_may_be_made_with_a_reason_that_is_shown(ask: Ask) -> None:
    plan = ask("--pin", "M3:F7", code=1)
    ids = re.findall(r"\(([a-z0-9-]+)\)", plan["clash"][0])  # each blocking caution is named
    assert len(ids) >= 2
    despite = [word for name in ids for word in ("--despite", f"{name}=the vet has seen both")]
    assert ask("--pin", "M3:F7", *despite[:2], code=1)["status"] == "clash"
    kept = ask("--pin", "M3:F7", *despite)
    pair = next(p for p in kept["pairs"] if (p["male"], p["female"]) == ("M3", "F7") and p["role"] == "first")
    assert any("the vet has seen both" in c for c in pair["cautions"])


def test_an_earlier_lock_with_another_male_is_said(files: Paths, ask: Ask) -> None:
    assert files.log
    files.log.write_text(LOG_HEAD + LOG + "2025-11-25,M2,lock,,F1\n2025-11-26,M1,lock,,F1\n")
    pair = next(p for p in ask()["pairs"] if (p["male"], p["female"]) == ("M1", "F1"))
    assert any("She has locked with M2 this season" in c for c in pair["cautions"])


def test_unknown_tags_name_the_nearest(ask: Ask, capsys: pytest.CaptureFixture[str]) -> None:
    assert "M01:F1: M01 is not an animal here; did you mean M1?" in ask("--pin", "M01:F1", code=1)["err"]
    assert "F1 is not recorded as a male" in ask("--ban", "F1:M1", code=1)["err"]
    assert "X9 is not an animal here" in ask("--without", "X9", code=1)["err"]
    with pytest.raises(SystemExit, match="2"):
        main(["pairings", "--pin", "M1"])
    assert "write MALE:FEMALE" in capsys.readouterr().err


def test_the_same_question_gives_the_same_bytes(ask: Ask) -> None:
    assert ask() == ask()


@pytest.mark.parametrize(
    ("animals", "wishes"),
    [
        ("F1,,F,2019-06-01,Clown,,,,,,", "Clown,1,1"),
        ("M1,,M,2019-06-01,Clown,,,,,,", "Clown,1,1"),
        ("X1,,,2019-06-01,Clown,,,,,,", "Clown,1,1\nprove X1,1,1\nkeep line X1,1,3"),
        ("M1,,M,2019-06-01,,,,,,,\nF1,,F,2019-06-01,,,,,,,", "Clown,0,1"),
        ("M1,,M,2019-06-01,Clown,,,,,,\nF1,,F,2019-06-01,Clown,,,,,,", "Clown,1e6,10000\nclown,1,1"),
        ("M1,,M,2019-06-01,Clown,,,,,sold,\nF1,,F,2019-06-01,Clown,,,,,dead,", "Clown,1,1\nprove F1,1,1"),
    ],
)
def test_odd_houses_get_an_answer(files: Paths, ask: Ask, animals: str, wishes: str) -> None:
    assert files.animals and files.wishes and files.log
    files.animals.write_text(ANIMALS_HEAD + lines(animals))
    files.wishes.write_text("wish,weight,count\n" + lines(wishes))
    files.log.write_text(LOG_HEAD)
    plan = ask()
    assert plan["status"] == "optimal" and plan["gap"] == pytest.approx(0, abs=1e-6)


def test_for_people(files: Paths, capsys: pytest.CaptureFixture[str]) -> None:
    named = ["--animals", str(files.animals), "--log", str(files.log)]
    assert main(["pairings", *named, "--on", ON]) == 0
    assert "No wishes are written down" in capsys.readouterr().out
    assert main(["pairings", *named, "--wishes", str(files.wishes), "--on", ON, "--without", "M2"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "no plan within the rules is worth more" in said and "Against the plan as kept this costs" in said


def test_choices_are_kept_in_the_store_and_can_be_taken_back(
    files: Paths, fresh_store: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from datetime import date

    bring_in(files, date(2026, 1, 1), notation=NOTATION)

    def plan(*more: str) -> dict[str, Any]:
        assert main(["pairings", "--on", ON, "--json", *more]) == 0
        found: dict[str, Any] = json.loads(capsys.readouterr().out)
        return found

    plan("--pin", "M2:F4")
    assert store.choices() == {}  # only asked, not kept
    plan("--pin", "M2:F4", "--ban", "M1:F1", "--keep")
    assert store.choices() == {("M2", "F4"): "pin", ("M1", "F1"): "ban"}
    assert firsts(plan())["F4"] == "M2" and firsts(plan()).get("F1") != "M1"
    plan("--free", "M1:F1", "--keep")
    assert store.choices() == {("M2", "F4"): "pin"} and len(store.choices_past()) == 3
    with pytest.raises(ValueError, match="M9 is not an animal here"):
        store.choose("M9", "F1", "pin", by="")


def test_who_takes_part_rests_on_the_house_s_own_rates(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the season's page says of a female, the plan goes by: with what the house learned."""
    on = date(2026, 1, 10)
    learned = written(replace(PRIOR, starts=PRIOR.starts._replace(mean=PRIOR.starts.mean + 25), seasons=60.0))
    usual = Source(invent(1, on), Settings())
    own = replace(usual, settings=replace(usual.settings, learned_rates=learned))
    told: list[dict[str, Outlook]] = []
    monkeypatch.setattr(
        "eggtooth.jobs.pairings.prospects", lambda room, order, outlooks, *_: told.append(outlooks)
    )
    for source in (usual, own):
        who_takes_part(source, on)
        assert told[-1] == outlooks_on(source, on)
    moved = [(told[1][tag].dates["laid"].q50 - one.dates["laid"].q50).days for tag, one in told[0].items()]
    assert max(moved) > 7
