"""What `check` finds, on files written by hand: each thing kept and broken."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest

from eggtooth.cli import main
from eggtooth.engine.colony import Incubator
from eggtooth.engine.doubts import doubts_of
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.kept import Kept
from eggtooth.records import store
from tests.conftest import ANIMALS_HEAD, LOG_HEAD, lines
from tests.house import ON, bred

__all__ = ["bred"]

PAIR = """
    S1,,M,2019-05-01,Pastel,,,,A-1-1,,
    D1,,F,2019-05-01,Normal,,,,A-1-2,,
"""


def check(folder: Path, capsys: pytest.CaptureFixture[str], animals: str, log: str = "") -> tuple[int, Any]:
    (folder / "a.csv").write_text(ANIMALS_HEAD + lines(animals))
    (folder / "l.csv").write_text(LOG_HEAD + lines(log))
    files = ["--animals", str(folder / "a.csv"), "--log", str(folder / "l.csv")]
    code = main(["check", *files, "--on", "2026-02-04", "--json"])
    return code, json.loads(capsys.readouterr().out)


def test_a_sound_colony_is_sound(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, found = check(tmp_path, capsys, PAIR, "2026-01-02,D1,weight,1900,\n2026-01-02,S1,weight,700,")
    assert (code, found) == (0, {"contradictions": [], "doubts": []})


@pytest.mark.parametrize(
    ("log", "said"),
    [
        ("2026-01-02,D1,weight,8858,", "8858"),
        ("2026-01-02,D1,laid,18,", "18 eggs"),
        ("2026-01-01,D1,weight,1900,\n2026-01-08,D1,weight,190,", "does not follow"),
        ("2025-05-01,D1,laid,6,\n2025-07-02,D1,hatched,8,", "8 hatched"),
        ("2026-01-10,D1,laid,6,\n2026-01-30,D1,laid,5,", "again on 2026-01-30"),
        ("2025-09-20,D1,ovulation,,\n2025-12-06,D1,laid,6,", "77 days after ovulation"),
    ],
)
def test_odd_but_possible_is_kept_and_shown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], log: str, said: str
) -> None:
    """8858 g and 77 days stand in databases by mistake (Myhrvold 2015, AnAge); eggs: Gorzula 1997."""
    code, found = check(tmp_path, capsys, PAIR, log)
    assert code == 0
    assert any(said in d["text"] for d in found["doubts"])


@pytest.mark.parametrize(
    ("log", "said"),
    [
        ("2026-01-02,D1,died,,\n2026-01-05,D1,meal,1,", "meal on 2026-01-05 after it died"),
        ("2019-01-02,D1,weight,60,", "before it hatched"),
        ("2026-01-02,S1,laid,5,", "recorded as a male"),
    ],
)
def test_what_cannot_be_is_a_contradiction(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], log: str, said: str
) -> None:
    code, found = check(tmp_path, capsys, PAIR, log)
    assert code == 1
    assert any(said in c["text"] for c in found["contradictions"])


def test_an_inherited_contradiction_names_the_animals(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A visual recessive needs a copy from each parent (Mendel)."""
    code, found = check(tmp_path, capsys, PAIR + "K1,,F,2023-05-01,Clown,S1,D1,c1,A-1-3,,")
    assert code == 1
    assert any("K1" in c["text"] and "S1" in c["text"] for c in found["contradictions"])


def test_two_in_a_tub_is_a_doubt(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, found = check(tmp_path, capsys, PAIR.replace("A-1-2", "A-1-1"))
    assert code == 0
    assert "tub A-1-1 holds D1 and S1" in found["doubts"][0]["text"]


def test_eggs_in_an_incubator_that_is_none_here_are_looked_into(bred: None) -> None:
    """Kept, as files may be older than an incubator's name."""
    said = ["in BXO", "candled, in BXO", "in box", "two in bad shape", "one lost"]
    eggs = [Entry(str(uuid4()), ON, None, "LYING", Kind.EGGS, 5, text) for text in said]
    store.add_entries(eggs)
    found = doubts_of(store.colony(), ON)
    asked = [d for d in found if "incubators here are BOX" in d.text]
    assert [d.entries[0].detail for d in asked] == ["in BXO", "candled, in BXO"]
    assert all(f"eggs in BXO on {ON}" in d.text for d in asked)


def test_adding_the_incubator_settles_it(bred: None) -> None:
    kept = Kept()
    store.add_entries([Entry(str(uuid4()), ON, None, "LYING", Kind.EGGS, 5, "in BXO")])
    assert any("eggs in BXO" in d.text for d in doubts_of(store.colony(), ON, kept))
    store.save_incubators([Incubator("BXO", 2, 31.5)])
    assert not any("eggs in" in d.text for d in doubts_of(store.colony(), ON, kept))
