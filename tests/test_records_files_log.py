"""Reading `log.csv`: what is kept, and every refusal in its words."""

# ruff: noqa: E501 (refusals stand here whole, as they are printed)

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest

from eggtooth.engine.entries import Kind, LabTest, Prey, Sign
from eggtooth.records.files.log import Known, Log, read_log

HEAD = "date,tag,kind,value,detail\n"
LATEST = date(2026, 1, 31)
TAGS = ("F-012", "F-013", "M-07")


def read(tmp_path: Path, text: str | bytes, places: frozenset[str] | None = None) -> Log:
    path = tmp_path / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())

    def gene_problem(gene: str) -> str | None:
        return None if gene == "Clown" else f"{gene} is not a gene here"

    return read_log(path, Known(TAGS, places, gene_problem), LATEST)


GOOD = [
    ("2026-01-01,F-012,weight,1520.5,", Kind.WEIGHT, 1520.5, None),
    ("2026-01-01,F-012,weight,8858,", Kind.WEIGHT, 8858, None),
    ("2026-01-01,F-012,weight,.15e4,", Kind.WEIGHT, 1500, None),
    ("2026-01-01,F-012,meal,0,medium rat", Kind.MEAL, 0, Prey("medium rat")),
    ("2026-01-01,F-012,meal,2,medium rat 90.5g", Kind.MEAL, 2, Prey("medium rat", 90.5)),
    ("2026-01-01,F-012,meal,2,90 g", Kind.MEAL, 2, Prey("", 90)),
    ("2026-01-01,F-012,meal,1,", Kind.MEAL, 1, None),
    ("2026-01-01,F-012,shed,,", Kind.SHED, None, None),
    ("2026-01-01,F-012,scan,31.5,7 follicles", Kind.SCAN, 31.5, 7),
    ("2026-01-01,F-012,scan,31.5,1 follicle", Kind.SCAN, 31.5, 1),
    ("2026-01-01,F-012,paired,,M-07", Kind.PAIRED, None, "M-07"),
    ("2026-01-01,F-012,sign,,Bowl  Wrapping", Kind.SIGN, None, Sign.BOWL_WRAPPING),
    ("2026-01-01,F-012,laid,18,2 slugs", Kind.LAID, 18, 2),
    ("2026-01-01,F-012,eggs,5,one lost", Kind.EGGS, 5, "one lost"),
    ("2026-01-01,M-07,rested,,worn", Kind.RESTED, None, "worn"),
    ("2026-01-01,F-012,test,,Clown 1", Kind.TEST, None, LabTest("Clown", 1)),
    ("2026-01-01,F-012,test,,Clown 1 error 2%", Kind.TEST, None, LabTest("Clown", 1, 0.02)),
    ("2026-01-01,F-012,moved,,A-3-2", Kind.MOVED, None, "A-3-2"),
    ("2026-01-01,I1,temperature,31.6,probe 2", Kind.TEMPERATURE, 31.6, "probe 2"),
    (" 2026-01-01 , F-012 , Weight , 1520 , ", Kind.WEIGHT, 1520, None),
]


@pytest.mark.parametrize(("line", "kind", "value", "detail"), GOOD)
def test_good_lines(tmp_path: Path, line: str, kind: Kind, value: float, detail: object) -> None:
    log = read(tmp_path, HEAD + line)
    assert not log.refusals
    (entry,) = log.entries
    assert (entry.kind, entry.value, entry.detail) == (kind, value, detail)
    assert (entry.id, entry.on, entry.at) == ("log:2", date(2026, 1, 1), None)


REFUSED = [
    ("2207-01-01,F-012,shed,,", "date: 2207-01-01 is in the future; dates here run from 1950-01-01 to 2026-01-31"),
    ("1890-01-01,F-012,shed,,", "date: 1890-01-01 is long past; dates here run from 1950-01-01 to 2026-01-31"),
    ("2026-02-01,F-012,shed,,", "date: 2026-02-01 is in the future; dates here run from 1950-01-01 to 2026-01-31"),
    ("2025-02-30,F-012,shed,,", "date: 2025-02-30 is no day of the calendar: day is out of range for month"),
    ("1/2/2025,F-012,shed,,", "date: 1/2/2025 is not a date; write year-month-day, like 2026-01-31, or 2026-01-31T21:30"),
    ("45678,F-012,shed,,", "date: 45678 is not a date; write year-month-day, like 2026-01-31, or 2026-01-31T21:30"),
    (",F-012,shed,,", "date: a date is missing; write year-month-day, like 2026-01-31, or 2026-01-31T21:30"),
    ("2025-01-01T25:00,F-012,shed,,", "date: 2025-01-01T25:00 is no moment of the calendar: hour must be in 0..23"),
    ("2025-01-01,F-0I2,shed,,", "tag: F-0I2 is not an animal here; did you mean F-012?"),
    ("2025-01-01,zebra,shed,,", "tag: zebra is not an animal here"),
    ("2025-01-01,,shed,,", "tag: the tag is missing"),
    ("2025-01-01,F-012,wieght,9,", "kind: wieght is not a kind of entry; did you mean weight?"),
    ("2025-01-01,F-012,weight,,", "value: a weight is missing; a weight is from 0.1 to 99999 g"),
    ("2025-01-01,F-012,weight,-5,", "value: -5 cannot be; a weight is from 0.1 to 99999 g"),
    ("2025-01-01,F-012,weight,0,", "value: 0 cannot be; a weight is from 0.1 to 99999 g"),
    ("2025-01-01,F-012,weight,nan,", "value: nan is not a number; a weight is from 0.1 to 99999 g"),
    ("2025-01-01,F-012,weight,inf,", "value: inf is not a number; a weight is from 0.1 to 99999 g"),
    ("2025-01-01,F-012,weight,1e999,", "value: 1e999 is not a finite number; a weight is from 0.1 to 99999 g"),
    ('2025-01-01,F-012,weight,"1,5",', "value: 1,5 is not a number; write 1.5 with a point"),
    ("2025-01-01,F-012,weight,1520g,", "value: 1520g is not a number; write 1520 without the unit"),
    ("2025-01-01,F-012,weight,1520 g,", "value: 1520 g is not a number; write 1520 without the unit"),
    ("2025-01-01,F-012,weight,1_000,", "value: 1_000 is not a number; a weight is from 0.1 to 99999 g"),
    ("2025-01-01,F-012,weight,١٥,", "value: ١٥ is not a number; a weight is from 0.1 to 99999 g"),
    ("2025-01-01,F-012,meal,1.5,rat", "value: 1.5 is not a whole number; the number of prey items taken is a count"),
    ("2025-01-01,F-012,shed,3,", "value: 3 stands in value, but shed has no value; leave it empty"),
    ("2025-01-01,I1,temperature,88,", "value: 88 cannot be; a temperature is from 0 to 60 °C; 88 °F is 31.1 °C"),
    ("2025-01-01,F-012,lock,,", "detail: lock needs a detail; the tag of the other animal"),
    ("2025-01-01,F-012,lock,,F-012", "detail: F-012 is the animal itself; lock needs the other animal"),
    ("2025-01-01,F-012,lock,,M-O7", "detail: M-O7 is not an animal here; did you mean M-07?"),
    ("2025-01-01,F-012,scan,20,7", "detail: 7 is not a count of follicles; write it like 7 follicles, or leave it empty"),
    ("2025-01-01,F-012,laid,5,two", "detail: two is not a count of slugs; write it like 2 slugs, or leave it empty"),
    ("2025-01-01,F-012,sign,,glwo", "detail: glwo is not a sign; did you mean glow?"),
    ("2025-01-01,F-012,test,,Clown", "detail: Clown is not a laboratory result; write the gene and the copies found, "
     "like Clown 1 or Clown 1 error 2%; copies are 0 to 2"),
    ("2025-01-01,F-012,test,,Clown 1 error 70%", "detail: 70 cannot be; the error of a test is from 0 to 50 %"),
    ("2025-01-01,F-012,test,,Clwn 1", "detail: Clwn is not a gene here"),
    ("2025-01-01,F-012,moved,,A3", "detail: A3 is not a tub; write rack-row-place, like A-3-2"),
    ("2025-01-01,F-012,rested,,bell\x07", "detail: bell\\x07 holds a control character (U+0007)"),
    ("2025-01-01,F-012,weight,9", "4 fields where the header has 5"),
    ("2025-01-01,F-012,weight,9,,",
     "6 fields where the header has 5; a comma inside a field needs quotes around the field"),
]  # fmt: skip


@pytest.mark.parametrize(("line", "words"), REFUSED)
def test_refused_lines(tmp_path: Path, line: str, words: str) -> None:
    log = read(tmp_path, f"{HEAD}2025-01-01,F-013,shed,,\n{line}\n2025-01-02,F-013,shed,,\n")
    assert [e.id for e in log.entries] == ["log:2", "log:4"]
    mark = ":" if words[0].isdigit() else ","
    assert [str(r) for r in log.refusals] == [f"log.csv line 3{mark} {words}"]
    assert [why for _, why in log.refused] == [log.refusals[0].text]


WHOLE = [
    (b"", "log.csv line 1: there is no header; the first line names the columns: date,tag,kind,value,detail"),
    (b"\n", "log.csv line 1: there is no header; the first line names the columns: date,tag,kind,value,detail"),
    (b"tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note\n", "log.csv line 1: these are the columns of "
     "animals.csv, not of log.csv; log.csv has date,tag,kind,value,detail"),
    (b"date;tag;kind;value;detail\n", "log.csv line 1: the columns are parted by ;; part them by commas"),
    (b"date,tag,kind,value\n", "log.csv line 1, detail: this column is missing; "
     "the columns are date,tag,kind,value,detail"),
    (b"date,tag,kind,valeu,detail\n", "log.csv line 1, value: this column is missing; name valeu so, if that is it"),
    (b"date,tag,kind,value,detail,tag\n", "log.csv line 1, tag: this column stands in the header more than once"),
    (HEAD.encode("utf-16"), "log.csv: the file is written in UTF-16; save it as csv in UTF-8"),
    (HEAD.encode() + b"2025-01-01,F-012,rested,,caf\xe9\n", "log.csv line 2: byte 0xe9 is not UTF-8; "
     "save the file as csv in UTF-8"),
    (HEAD.encode() + b"2025-\0", "log.csv line 2: a NUL byte stands here; this is not a csv file"),
    (b"PK\x03\x04rest", "log.csv: the file is a workbook, not csv; save it as csv in UTF-8"),
    (HEAD.encode() + b'2025-01-01,F-012,rested,,"worn\n', "log.csv line 2: a quote is opened and never closed; "
     'write a quote inside a field twice: ""'),
    (HEAD.encode() + b'2025-01-01,F-012,rested,,"worn" out\n', "log.csv line 2: something stands after a closing "
     'quote; write a quote inside a field twice: ""'),
    (HEAD.encode() + b'"' + b"x" * 200_000 + b'"', "log.csv line 2: a field is longer than 131,072 characters; "
     "is a quote not closed?"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "words"), WHOLE)
def test_files_that_cannot_be_read(tmp_path: Path, text: bytes, words: str) -> None:
    log = read(tmp_path, text)
    assert [str(r) for r in log.refusals] == [words]
    assert all(r.whole for r in log.refusals) and not log.entries


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    log = read_log(tmp_path / "log.csv", Known(TAGS), LATEST)
    assert [str(r) for r in log.refusals] == ["log.csv: the file cannot be read: No such file or directory"]


@pytest.mark.parametrize("encode", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("quoted", ["worn", '"worn"'])
def test_line_ends_marks_and_quotes_change_nothing(
    tmp_path: Path, encode: str, end: str, quoted: str
) -> None:
    lines = [
        "date,tag,kind,value,detail",
        f"2025-01-01,M-07,rested,,{quoted}",
        "",
        ",,,,",
        "2025-01-02,M-07,shed,,",
    ]
    log = read(tmp_path, end.join(lines).encode(encode))
    assert not log.refusals
    assert [(e.kind, e.detail) for e in log.entries] == [(Kind.RESTED, "worn"), (Kind.SHED, None)]


def test_other_columns_are_kept_as_a_note_in_any_order(tmp_path: Path) -> None:
    text = "mood,detail,value,kind,tag,date,note\ncalm,,,shed,F-012,2025-01-01T21:30,in one piece\n,,,shed,F-012,2025-01-02,\n"
    one, two = read(tmp_path, text).entries
    assert (one.note, one.at) == ("in one piece; mood: calm", datetime(2025, 1, 1, 21, 30))
    assert two.note == "" and two.at is None


def test_temperatures_are_of_known_places_once_incubators_are_known(tmp_path: Path) -> None:
    text = HEAD + "2025-01-01,{},temperature,31.5,\n"
    for tag in ("I1", "A", "A-1-1", "F-012"):
        assert not read(tmp_path, text.format(tag), frozenset({"I1", "A"})).refusals
    (refusal,) = read(tmp_path, text.format("I-1x"), frozenset({"I1", "A"})).refusals
    assert str(refusal) == "log.csv line 2, tag: I-1x is no tub, rack or incubator here; did you mean I1?"
    assert str(read(tmp_path, HEAD + "2025-01-01,I1,shed,,\n", frozenset({"I1"})).refusals[0]).endswith(
        "I1 is not an animal here"
    )
