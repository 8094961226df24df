"""Tables as people keep them: encodings, signs, workbooks, dates, column names; and what cannot be read."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900

from eggtooth.records.sheets.dates import Order, ambiguous, iso_date, order_of
from eggtooth.records.sheets.matching import Match, as_file, guess
from eggtooth.records.sheets.opening import Unfit, open_sheet


def csv_line(*fields: str) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="").writerow(fields)
    return out.getvalue()


def workbook(*rows: list[object]) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("sign", [",", ";", "\t", "|"])
def test_any_encoding_and_any_sign_between_fields(encoding: str, sign: str) -> None:
    text = f"tag{sign}name\nF1{sign}Zoë\n\nM1{sign}\n"
    found = open_sheet("herd", text.encode(encoding))
    assert found.header == ("tag", "name")
    assert found.rows == (("F1", "Zoë"), ("M1", ""))


def test_a_workbooks_days_and_numbers_become_plain_text() -> None:
    data = workbook(
        ["tag", "born", "g", "at"], ["F1", date(2021, 6, 3), 1500.0, datetime(2026, 1, 2, 20, 30)]
    )
    assert open_sheet("herd", data).rows == (("F1", "2021-06-03", "1500", "2026-01-02T20:30"),)


def test_short_and_long_rows_get_the_headers_width() -> None:
    assert open_sheet("x", b"tag,name\nF1\nF2,a,b,c\n").rows == (("F1", ""), ("F2", "a"))


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "holds nothing"),
        (b"\n\n", "holds nothing"),
        (b"PK\x03\x04rubbish", "broken workbook"),
        (b"\xd0\xcf\x11\xe0old", "save it as xlsx or csv"),
        (b"tag\0name", "NUL"),
        (b"\xff\xfe\x00", "is not text"),
        (b",".join(b"c%d" % n for n in range(300)), "300 columns"),
    ],
)
def test_what_is_no_table_is_told(data: bytes, told: str) -> None:
    with pytest.raises(Unfit, match=told):
        open_sheet("herd", data)


def test_a_small_file_that_unpacks_to_a_huge_one_is_refused_before_it_is_unpacked() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * 450_000_000)
    assert len(out.getvalue()) < 1_000_000
    with pytest.raises(Unfit, match="unpacks to more than"):
        open_sheet("herd", out.getvalue())


def test_a_workbook_of_the_same_row_a_million_times_is_refused_before_it_is_read() -> None:
    """100 kB that unpack to 40 MB took 15 s of the processor."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"<row><c><v>12</v></c></row>" * 1_000_000)
    with pytest.raises(Unfit, match="25 times its size; save it as csv"):
        open_sheet("herd", out.getvalue())


@pytest.mark.parametrize("cell", ["XFD2", "A1048576"])
def test_a_sheet_formatted_to_its_last_cell_is_read_as_far_as_it_is_filled(cell: str) -> None:
    """The last column and row of a sheet are XFD and 1,048,576 (ECMA-376, 18.3.1.73, and common practice)."""
    book = Workbook()
    book.active["A1"], book.active["A2"], book.active[cell] = "tag", "F1", "F2"
    out = io.BytesIO()
    book.save(out)
    assert open_sheet("herd", out.getvalue()).rows == ((("F1",),) if cell == "XFD2" else (("F1",), ("F2",)))


def test_as_many_columns_as_somebody_may_send() -> None:
    wide = ",".join(f"c{n}" for n in range(100_000))
    with pytest.raises(Unfit, match="100000 columns; up to 200"):
        open_sheet("herd", wide.encode())
    assert open_sheet("herd", f"tag\nF1{',x' * 100_000}\n".encode()).rows == (("F1",),)
    with pytest.raises(Unfit, match="201 columns; up to 200"):
        open_sheet("herd", workbook(["tag", *["x"] * 5000]))


def test_formulas_are_not_run_and_merged_cells_stand_once() -> None:
    book = Workbook()
    for row in (["tag", "genes", "g"], ["F1", "Clown", "=1+1"], ["F2", "lost", None]):
        book.active.append(row)
    book.active.merge_cells("B2:B3")
    out = io.BytesIO()
    book.save(out)
    assert open_sheet("herd", out.getvalue()).rows == (("F1", "Clown", ""), ("F2", "", ""))


@pytest.mark.parametrize("epoch", [CALENDAR_WINDOWS_1900, CALENDAR_MAC_1904])
def test_days_of_both_date_bases(epoch: datetime) -> None:
    """A workbook says itself whether its days count from 1900 or from 1904 (ECMA-376, 18.2.28)."""
    book = Workbook()
    book.epoch = epoch
    book.active.append(["tag", "born"])
    book.active.append(["F1", date(2021, 6, 3)])
    out = io.BytesIO()
    book.save(out)
    assert open_sheet("herd", out.getvalue()).rows == (("F1", "2021-06-03"),)


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("1,5", "1.5"),
        ("1e3", "1e3"),
        ("007", "007"),
        ("1 512 g", "1512"),
        ("1.512,5", "1.512,5"),
        ("2 kg", "2 kg"),
    ],
)
def test_numbers_as_people_write_them(typed: str, read: str) -> None:
    """What could be either of two numbers stays as it is, and is refused by the reading with its line."""
    found = open_sheet("w", f'date;tag;grams\n2026-01-10;F1;"{typed}"\n'.encode())
    assert as_file(found, guess(found)).splitlines()[1] == csv_line("2026-01-10", "F1", "weight", read, "")


@pytest.mark.parametrize(
    "name",
    ["\u05e9\u05dc\u05d5\u05dd", "\u202eabc\u202c", 'O\'Neil "x"', "<script>alert(1)</script>", "=1+1"],
)
def test_odd_names_stay_as_they_are(name: str) -> None:
    found = open_sheet("h", ("tag;name\nF1;" + '"' + name.replace('"', '""') + '"\n').encode())
    assert found.rows == (("F1", name),)


def test_a_cell_longer_than_any_is_told() -> None:
    with pytest.raises(Unfit, match="line 2: this is not csv"):
        open_sheet("h", b"tag\n" + b"x" * 200_000)
    with pytest.raises(Unfit, match="larger than 50 MB"):
        open_sheet("h", b"tag\n" + b"x" * 50_000_001)


@pytest.mark.parametrize(
    ("text", "order", "iso"),
    [
        ("2026-01-31", Order.YEAR, "2026-01-31"),
        ("31.01.2026", Order.DAY, "2026-01-31"),
        ("31/1/26", Order.DAY, "2026-01-31"),
        ("1/31/2026", Order.MONTH, "2026-01-31"),
        ("2026/1/31", Order.MONTH, "2026-01-31"),
        ("31.1.2026 20:30", Order.DAY, "2026-01-31T20:30"),
        ("31 January 2026", Order.DAY, "2026-01-31"),
        ("Jan 31, 2026", Order.DAY, "2026-01-31"),
        ("46053", Order.DAY, "2026-01-31"),
        ("31/31/2026", Order.DAY, "31/31/2026"),
        ("last spring", Order.DAY, "last spring"),
        ("", Order.DAY, ""),
    ],
)
def test_dates_as_people_write_them(text: str, order: Order, iso: str) -> None:
    """46053 is 31 January 2026 in the 1900 date base of workbooks (ECMA-376, 18.17.4.1)."""
    assert iso_date(text, order) == iso


def test_the_count_of_days_is_the_one_workbooks_use() -> None:
    from openpyxl.utils.datetime import to_excel

    for day in (date(1951, 3, 1), date(2026, 1, 31)):
        assert iso_date(str(int(to_excel(day))), Order.YEAR) == day.isoformat()


def test_the_order_of_a_column_is_told_by_its_large_numbers() -> None:
    assert order_of(["3/4/2026", "13/4/2026"]) is Order.DAY
    assert order_of(["3/4/2026", "4/13/2026"]) is Order.MONTH
    assert order_of(["2026-03-04"]) is Order.YEAR
    assert ambiguous(["3/4/2026", "5/6/2026"]) and not ambiguous(["3/4/2026", "13/6/2026"])


def test_columns_are_guessed_by_their_names() -> None:
    found = open_sheet(
        "h", b"Animal ID,Gender,DOB,Morph,Father,Mother,Bought at\nF1,female,3.6.2021,Pastel,,,fair\n"
    )
    match = guess(found)
    assert (match.role, match.order) == ("animals", Order.DAY)
    assert match.columns == {"tag": 0, "sex": 1, "hatched": 2, "genes": 3, "sire": 4, "dam": 5}
    assert as_file(found, match) == (
        "tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note,Bought at\n"
        "F1,,F,2021-06-03,Pastel,,,,,,,fair\n"
    )


def test_a_sheet_of_weights_is_a_log_without_kinds() -> None:
    found = open_sheet("w", b'Date,Snake,Weight (g)\n1/14/2026,F1,"1,512 g"\n1/15/2026,F1,\n')
    match = guess(found)
    assert (match.role, match.kind, match.order) == ("log", "weight", Order.MONTH)
    assert as_file(found, match).splitlines()[1] == "2026-01-14,F1,weight,1512,"


@given(st.binary(max_size=400))
def test_any_bytes_are_a_sheet_or_told(data: bytes) -> None:
    try:
        found = open_sheet("x", data)
    except Unfit as told:
        assert str(told).startswith("x")
    else:
        assert all(len(row) == len(found.header) for row in found.rows)
        assert as_file(found, guess(found)).count("\n") >= len(found.rows)


@given(st.lists(st.lists(st.text(max_size=12), min_size=1, max_size=6), min_size=1, max_size=6))
def test_a_sheet_has_as_many_lines_as_its_file(rows: list[list[str]]) -> None:
    """So that a refusal's line is the line of the sheet."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    try:
        found = open_sheet("x", out.getvalue().encode("utf-8", "replace"))
    except Unfit:
        return
    text = as_file(found, Match("log", {"tag": 0}))
    assert len(list(csv.reader(io.StringIO(text, newline="")))) == len(found.rows) + 1
