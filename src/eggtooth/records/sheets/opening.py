"""A csv or xlsx file as rows of text, whatever its encoding and its signs between the fields."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import PurePath
from typing import Any

from eggtooth.records.files.safe_cells import plain

LARGEST_BYTES = 50_000_000
LARGEST_REQUEST_BYTES = LARGEST_BYTES + 1_000_000
"""The file and the form around it; more is refused before it is read, or a stranger could fill the disk."""
LARGEST_UNPACKED = 400_000_000
USUAL_UNPACKED, MOST_TIMES = 20_000_000, 25
"""Workbooks unpack to some ten times their size; one far beyond that would take minutes to read."""
MOST_ROWS, MOST_COLUMNS = 1_000_000, 200
SIGNS = ",;\t|"
OLD_BOOK, BOOK = b"\xd0\xcf\x11\xe0", b"PK\x03\x04"
TEXTS, BOOKS = ("csv", "tsv", "txt"), ("xlsx", "xlsm")


class Unfit(ValueError):
    """The file cannot be read as a table; the message says what was found and what to do."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table: the file's name, its header and its rows, all as text of the header's width."""

    name: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def column(self, place: int) -> list[str]:
        """All texts of one column that are not empty."""
        return [row[place] for row in self.rows if row[place]]


def open_sheet(name: str, data: bytes) -> Sheet:
    """Read a file's bytes. Raises `Unfit`. Line breaks inside a field become spaces, so lines stay lines."""
    if len(data) > LARGEST_BYTES:
        raise Unfit(f"{name} is larger than {LARGEST_BYTES // 1_000_000} MB; split it")
    if data[:4] == OLD_BOOK:
        raise Unfit(f"{name} is a workbook of the old kind (xls); save it as xlsx or csv")
    rows = _workbook(name, data) if data[:4] == BOOK else _text(name, data)
    header = next(filter(any, rows), None)
    if header is None:
        raise Unfit(f"{name} holds nothing; its first line should name the columns")
    width = max(i for i, text in enumerate(header, 1) if text)
    if width > MOST_COLUMNS:
        raise Unfit(f"{name} has {width} columns; up to {MOST_COLUMNS} can be read")
    body = ((*row[:width], *[""] * (width - len(row))) for row in rows if any(row[:width]))
    return Sheet(name, tuple(header[:width]), tuple(body))


def as_its_ending_says(name: str, data: bytes) -> None:
    """Raises `Unfit` where a file's name says otherwise than its bytes; without an ending it says nothing."""
    ending = PurePath(name).suffix.lstrip(".").casefold()
    if not ending or ending.isdecimal():  # a name may end in a year
        return
    if data[:4] == OLD_BOOK:  # told of when it is opened
        return
    if ending not in TEXTS + BOOKS:
        raise Unfit(f"{name} ends in .{ending[:20]}; a table ends in .{', .'.join(TEXTS + BOOKS)}")
    if ending in TEXTS and data[:4] == BOOK:
        raise Unfit(
            f"{name} ends in .{ending} but holds a workbook; let its name end in .xlsx, or save it as csv"
        )
    if ending in BOOKS and data[:4] != BOOK:
        raise Unfit(f"{name} ends in .{ending} but holds no workbook; if it holds text, let it end in .csv")


def _text(name: str, data: bytes) -> Iterator[list[str]]:
    text = _decoded(name, data)
    sign = max(SIGNS, key=text.partition("\n")[0].count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign, strict=False)
    try:
        yield from _few(name, ([" ".join(plain(field).split()) for field in row] for row in reader))
    except csv.Error as error:
        raise Unfit(f"{name} line {reader.line_num}: this is not csv ({error})") from None


def _decoded(name: str, data: bytes) -> str:
    """By the mark at its start, else UTF-8, else the western code page old sheets are saved in."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return _as(name, data, "utf-16")
    if b"\0" in data:
        raise Unfit(f"{name} is neither csv nor xlsx: it holds NUL bytes")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return _as(name, data, "cp1252")


def _as(name: str, data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise Unfit(f"{name}: byte {error.start} is not text; save it as csv in UTF-8") from None


def _workbook(name: str, data: bytes) -> Iterator[list[str]]:
    """The first sheet of a workbook, values only: formulas are not run."""
    _bounded(name, data)
    from openpyxl import load_workbook

    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        sheet.reset_dimensions()  # a format down to the last row and column is no reason to fill them all
        rows = sheet.iter_rows(max_col=MOST_COLUMNS + 1, values_only=True)
        said = ([_said(cell) for cell in row] for row in rows if row.count(None) < len(row))
        yield from _few(name, said)
    except Unfit:
        raise
    except Exception as error:  # a broken workbook breaks its reader in many ways; each is the file's fault
        raise Unfit(f"{name} cannot be read as a workbook ({type(error).__name__}); save it as csv") from None


def _bounded(name: str, data: bytes) -> None:
    """A small file may unpack to one that fills the machine; it is refused before it is unpacked."""
    try:
        packed = zipfile.ZipFile(io.BytesIO(data)).infolist()
    except (zipfile.BadZipFile, ValueError, NotImplementedError):
        raise Unfit(f"{name} is a broken workbook; save it again, or as csv") from None
    unpacked = sum(part.file_size for part in packed)
    if unpacked > max(USUAL_UNPACKED, MOST_TIMES * len(data)):
        raise Unfit(f"{name} unpacks to more than {MOST_TIMES} times its size; save it as csv")
    if unpacked > LARGEST_UNPACKED or len(packed) > 10_000:
        raise Unfit(f"{name} unpacks to more than {LARGEST_UNPACKED // 1_000_000} MB; split it")


def _few(name: str, rows: Iterable[list[str]]) -> Iterator[list[str]]:
    for count, row in enumerate(rows):
        if count > MOST_ROWS:
            raise Unfit(f"{name} has more than {MOST_ROWS:,} lines; split it")
        yield row


def _said(cell: Any) -> str:
    """A cell as text: days as ISO dates, whole numbers without a point."""
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() else cell.isoformat(timespec="minutes")
    if isinstance(cell, date | time):
        return cell.isoformat()
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    return " ".join(str(cell).split())
