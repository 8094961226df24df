"""The whole store in one file: csv files in a zip, one workbook, or one json document."""

from __future__ import annotations

import csv
import io
import json
import zipfile

from eggtooth.jobs.take_out import texts
from eggtooth.records.files.safe_cells import plain

WHEN = (1980, 1, 1, 0, 0, 0)
"""The moment written into the zip, always the same: same store, same bytes."""


def as_zip() -> bytes:
    """The files of an export in a zip; `import` takes them after unpacking."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in texts().items():
            packed.writestr(zipfile.ZipInfo(name, WHEN), text, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def as_workbook() -> bytes:
    """A workbook with a sheet for each file. Every cell is text or a number, never a formula."""
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell

    book = Workbook(write_only=True)
    for name, rows in _tables().items():
        sheet = book.create_sheet(name)
        for row in rows:
            cells = [WriteOnlyCell(sheet, value=_number(text)) for text in row]
            for cell in cells:
                if cell.data_type == "f":
                    cell.data_type = "s"  # a name that begins with = stays a name
            sheet.append(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def as_json() -> bytes:
    """One document: for each file a list of its lines by column."""
    document = {
        name: [dict(zip(rows[0], row, strict=True)) for row in rows[1:]] for name, rows in _tables().items()
    }
    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode()


def _tables() -> dict[str, list[list[str]]]:
    files = {n.removesuffix(".csv"): t for n, t in texts().items() if n.endswith(".csv")}
    return {
        name: [list(map(plain, row)) for row in csv.reader(io.StringIO(text, newline=""))]
        for name, text in files.items()
    }


def _number(text: str) -> str | float:
    """Plain numbers as numbers, so that a sheet can add them up; anything else stays text."""
    plain = text.replace(".", "", 1)
    if (
        plain.isascii()
        and plain.isdecimal()
        and len(text) < 15
        and (text == "0" or text[0] != "0" or "." in text)
    ):
        return float(text)
    return text
