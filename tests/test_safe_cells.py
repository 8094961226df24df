"""Cells that a spreadsheet would run: kept from running on the way out, the very same text on the way in."""

from __future__ import annotations

import csv
import io
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eggtooth.records.files.log import Known, read_log
from eggtooth.records.files.safe_cells import guarded, plain
from eggtooth.records.files.table import open_table
from eggtooth.records.files.writing import csv_text
from eggtooth.records.sheets.opening import open_sheet

# The signs OWASP names under "CSV Injection" (from memory), and the apostrophe our own guard uses.
NASTY = st.text(st.sampled_from("'=+-@\t\r1e.a \"，,"), max_size=8) | st.text(max_size=8)


@given(NASTY)
@settings(max_examples=500)
def test_every_text_comes_back_the_same_and_none_runs(text: str) -> None:
    out = guarded(text)
    assert plain(out) == text
    if out[:1] in ("=", "@", "\t", "\r"):
        pytest.fail(f"{out!r} would run")
    if out[:1] in ("+", "-"):
        assert float(out) is not None  # raises where it is more than a number


@given(st.lists(st.text(st.sampled_from("'=+-@1a,\""), min_size=1, max_size=6), min_size=3, max_size=3))
@settings(max_examples=100, deadline=None)
def test_a_file_comes_back_through_both_doors(row: list[str]) -> None:
    text = csv_text(["wish", "weight", "count"], [row])
    with TemporaryDirectory() as folder:
        path = Path(folder, "wishes.csv")
        path.write_text(text, encoding="utf-8", newline="")
        assert list(open_table(path, "wishes").reader) == [row]
    assert open_sheet("wishes.csv", text.encode()).rows == (tuple(row),)


def test_the_quick_way_through_a_log_takes_the_guard_off_too(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("date,tag,kind,value,detail\n2026-01-02,'=F1,weight,1500,\n", encoding="utf-8")
    log = read_log(path, Known(frozenset({"=F1"})), date(2030, 1, 1))
    assert [entry.tag for entry in log.entries] == ["=F1"]


def test_negative_numbers_stay_numbers() -> None:
    row = next(csv.reader(io.StringIO(csv_text(["-1.5"], []))))
    assert row == ["-1.5"] and guarded("-1+cmd") == "'-1+cmd"
