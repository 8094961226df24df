"""Reading `animals.csv`: what is kept, and what no animal and no pedigree can be."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from eggtooth.engine.colony import Animal, Sex, State, Tub
from eggtooth.records.files.animals import Animals, read_animals

HEAD = "tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note\n"
PARENTS = "M1,,M,2018-06-01,,,,,,,\nM2,,M,2018-06-01,,,,,,,\nF1,,F,2018-06-01,,,,,,,\n"


def read(tmp_path: Path, lines: str, head: str = HEAD) -> Animals:
    path = tmp_path / "animals.csv"
    path.write_text(head + lines, encoding="utf-8")

    def genes_problem(text: str) -> str | None:
        return f"{text} is not a gene here; did you mean Clown?" if text == "Clwn" else None

    return read_animals(path, date(2026, 1, 31), genes_problem=genes_problem)


def test_a_full_line(tmp_path: Path) -> None:
    found = read(tmp_path, PARENTS + "C1,Mira,f,2022-07-01,het Clown,M1|M2,F1,F1-22,A-3-2,Loan,shy\n")
    assert not found.refusals
    assert found.animals["C1"] == Animal(
        "C1", Sex.FEMALE, "Mira", date(2022, 7, 1), "het Clown", ("M1", "M2"), "F1", "F1-22", Tub("A", 3, 2),
        State.LOAN, "shy",
    )  # fmt: skip


REFUSED = [
    (",,F,,,,,,,,", "tag: the tag is missing"),
    ("C|1,,F,,,,,,,,", "tag: C|1 is not a tag; up to 40 letters, digits and signs, but no |"),
    ("F1,,F,,,,,,,,", "tag: F1 stands on line 4 already; give each one tag"),
    ("C1,,male,,,,,,,,", "sex: male is not a sex; did you mean M?"),
    ("C1,,X,,,,,,,,", "sex: X is not a sex; write M, F or nothing"),
    (
        "C1,,F,2207-01-01,,,,,,,",
        "hatched: 2207-01-01 is in the future; dates here run from 1950-01-01 to 2026-01-31",
    ),
    (
        "C1,,F,2019,,,,,,,",
        "hatched: 2019 is not a date; write year-month-day, like 2026-01-31, or 2026-01-31T21:30",
    ),
    ("C1,,F,,Clwn,,,,,,", "genes: Clwn is not a gene here; did you mean Clown?"),
    ("C1,,F,,,M-1,,,,,", "sire: M-1 is not an animal here; did you mean M1?"),
    ("C1,,F,,,,F-1x,,,,", "dam: F-1x is not an animal here; did you mean F1?"),
    ("C1,,F,,,C1,,,,,", "sire: C1 is the animal itself"),
    (
        "C1,,F,,,M1|M1,,,,,",
        "sire: M1|M1 is not a list of candidates; write each once, with | between: M03|M07",
    ),
    ("C1,,F,,,F1,,,,,", "sire: F1 is recorded as F; a sire is M"),
    ("C1,,F,,,,M1,,,,", "dam: M1 is recorded as M; a dam is F"),
    ("C1,,F,2018-06-01,,M1,,,,,", "sire: M1 hatched on 2018-06-01, not before 2018-06-01"),
    ("C1,,F,,,,,,A3,,", "tub: A3 is not a tub; write rack-row-place, like A-3-2"),
    ("C1,,F,,,,,,,hre,", "state: hre is not a state; did you mean here?"),
    ("C1,,F", "3 fields where the header has 11"),
]


@pytest.mark.parametrize(("line", "words"), REFUSED)
def test_refused_lines(tmp_path: Path, line: str, words: str) -> None:
    found = read(tmp_path, PARENTS + line)
    mark = ":" if words[0].isdigit() else ","
    assert [str(r) for r in found.refusals] == [f"animals.csv line 5{mark} {words}"]
    assert list(found.animals) == ["M1", "M2", "F1"]


def test_nobody_is_its_own_ancestor(tmp_path: Path) -> None:
    found = read(tmp_path, "A,,F,,,,C,,,,\nB,,F,,,,A,,,,\nC,,F,,,,B,,,,\n")
    assert [r.line for r in found.refusals] == [2, 3, 4]
    assert all("would be its own ancestor (" in r.text and r.column == "dam" for r in found.refusals)
    assert not found.animals


def test_children_of_refused_parents_fall_with_them(tmp_path: Path) -> None:
    found = read(tmp_path, "G,,F,2207-01-01,,,,,,,\nD,,F,,,,G,,,,\nC,,F,,,,D,,,,\nX,,F,,,,,,,,\n")
    assert [r.line for r in found.refusals] == [2, 3, 4]
    assert list(found.animals) == ["X"]


def test_two_animals_in_one_tub_are_a_doubt_not_a_refusal(tmp_path: Path) -> None:
    found = read(tmp_path, "A,,F,,,,,,A-1-1,,\nB,,F,,,,,,A-1-1,,\n")
    assert len(found.animals) == 2 and not found.refusals


def test_other_columns_are_kept_as_a_note(tmp_path: Path) -> None:
    found = read(tmp_path, "A,,F,,,,,,,,shy,600 g\n", HEAD.strip() + ",bought at\n")
    assert found.animals["A"].note == "shy; bought at: 600 g"


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("M1,,M,2021-06-01,,,,,,,", "hatched: 2021-06-01 is not before its young C1 hatched, on 2021-06-01"),
        ("M1,,F,2018-06-01,,,,,,,", "sex: F is kept as sire of C1; a sire is M"),
        ("F1,,M,2018-06-01,,,,,,,", "sex: M is kept as dam of C1; a dam is F"),
    ],
)
def test_a_change_that_young_already_kept_forbid_is_refused(tmp_path: Path, line: str, said: str) -> None:
    kept = read(tmp_path, PARENTS + "C1,,F,2021-06-01,,M1|M2,F1,,,,\n").animals
    path = tmp_path / "animals.csv"
    path.write_text(f"{HEAD}{line}\nM2,,M,2019-06-01,,,,,,,\n", encoding="utf-8")
    found = read_animals(path, date(2026, 1, 31), kept)
    assert [f"{r.column}: {r.text}" for r in found.refusals] == [said]
    assert list(found.animals) == ["M2"]


def test_a_parent_may_change_together_with_its_young(tmp_path: Path) -> None:
    kept = read(tmp_path, PARENTS + "C1,,F,2021-06-01,,M1|M2,F1,,,,\n").animals
    path = tmp_path / "animals.csv"
    path.write_text(f"{HEAD}M1,,M,2021-06-01,,,,,,,\nC1,,F,2022-06-01,,M1,F1,,,,\n", encoding="utf-8")
    assert not read_animals(path, date(2026, 1, 31), kept).refusals
