"""What each reader must do with any bytes: take them and give them back the same, or refuse them in words."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from eggtooth.engine.genetics import notation
from eggtooth.engine.genetics.writing import write
from eggtooth.jobs.gather import NOTATION
from eggtooth.jobs.take_out import NAMES, paths_in
from eggtooth.records.files.keys import NO_ID
from eggtooth.records.files.reading import Reading, read_files
from eggtooth.records.files.refusal import Refusal
from eggtooth.records.files.writing import animals_text, incubators_text, log_text, voided_text, wishes_text
from eggtooth.records.sheets.dates import Order
from eggtooth.records.sheets.matching import ROLES, Match, as_file, guess
from eggtooth.records.sheets.opening import Sheet, Unfit, open_sheet

LATEST = date(2026, 2, 1)
PART = b"\x1e"
"""ASCII's record separator, between the files of one input."""
MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None
CSV_PARTS = (*NAMES.values(), "settings.json", "pairs.json")
BOOK_PARTS = ("xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/styles.xml", "xl/workbook.xml")


class Fault(AssertionError):
    """The reader did what no reader may; the message says what."""


def must(holds: object, what: str) -> None:
    """Raise `Fault` unless it holds."""
    if not holds:
        raise Fault(what)


def told(refusals: Iterable[Refusal]) -> None:
    """Each refusal names its file, its line where there is one, and says why in signs a terminal can show."""
    for r in refusals:
        must(r.file and r.text.strip() and str(r).isprintable(), f"a refusal without words: {r!r}")
        must(r.line or r.whole, f"a refusal without its line: {r!r}")


def read_csv(data: bytes) -> None:
    """The files of a house, parted by `PART` in the order of `CSV_PARTS`; an empty part is no file."""
    parts = dict(zip(CSV_PARTS, data.split(PART, len(CSV_PARTS) - 1), strict=False))
    with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
        found = _read(Path(folder), {n: p for n, p in parts.items() if p})
        told(found.refusals)
        found.colony()
        again = _read(Path(folder) / "again", _written(found))
    must(not again.refusals, f"what was taken is refused when written out: {again.refusals[:1]}")
    must(_values(found) == _values(again), "what was taken is not the same written out and read again")


def _read(folder: Path, files: dict[str, bytes]) -> Reading:
    folder.mkdir(exist_ok=True)
    for name, raw in files.items():
        (folder / name).write_bytes(raw)
    return read_files(paths_in(folder)[0], LATEST, notation=NOTATION)


def _written(found: Reading) -> dict[str, bytes]:
    voided = [(entry, v.by, v.when, v.why) for entry, v in found.voided]
    texts = {
        "animals.csv": animals_text(found.animals.values()),
        "log.csv": log_text(found.entries, found.noted_at),
        "wishes.csv": wishes_text(found.wishes),
        "incubators.csv": incubators_text(found.incubators),
        "voided.csv": voided_text(voided, found.noted_at),
    }
    return {name: text.encode() for name, text in texts.items()}


def _values(found: Reading) -> list[object]:
    """Everything read; an entry without an id of its own has the number of its line, which may move."""
    entries = [e._replace(id="") if e.id.startswith(NO_ID) else e for e in found.entries]
    times = {key: at for key, at in found.noted_at.items() if not key.startswith(NO_ID)}
    return [found.animals, entries, found.wishes, found.incubators, found.voided, times]


def read_sheet(data: bytes) -> None:
    """A sheet of one's own: any bytes; after an `X` the parts of a workbook, which are packed first."""
    raw = packed(data[1:].split(PART)) if data[:1] == b"X" else data
    try:
        sheet = open_sheet("sheet", raw)
    except Unfit as wrong:
        must(str(wrong).startswith("sheet") and len(str(wrong)) > 15, f"a refusal without words: {wrong}")
        return
    must(all(len(row) == len(sheet.header) for row in sheet.rows), "rows of other widths than the header")
    likeliest = guess(sheet)
    by_place = {name: place for place, name in enumerate(("tag", "hatched", "sex")[: len(sheet.header)])}
    for match in (likeliest, Match(ROLES[0], by_place, Order.MONTH), Match(ROLES[1], {"tag": 0}, Order.DAY)):
        _matched(sheet, match)


def packed(parts: list[bytes]) -> bytes:
    """The parts of a workbook (`BOOK_PARTS`) in a zip with what every workbook has."""
    kept = [*parts[:4], *STANDARD[len(parts) :]] if len(parts) < 4 else parts[:4]
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as book:
        for name, part in zip(BOOK_PARTS, kept, strict=True):
            book.writestr(name, part)
        for name, text in FRAME.items():
            book.writestr(name, text)
    return out.getvalue()


def _matched(sheet: Sheet, match: Match) -> None:
    with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
        text = as_file(sheet, match)
        found = _read(Path(folder), {f"{match.role}.csv": text.encode("utf-8")})
        told(found.refusals)
        must(all(r.line <= len(sheet.rows) + 1 for r in found.refusals), "a refusal past the sheet's end")
        again = _read(Path(folder) / "again", _written(found))
    must(not again.refusals, f"what was taken is refused when written out: {again.refusals[:1]}")
    must(_values(found) == _values(again), "what was taken is not the same written out and read again")


def read_notation(data: bytes) -> None:
    """Genes as breeders write them."""
    try:
        text = data.decode("utf-8", "surrogatepass")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    try:
        said = notation.read(text)
    except notation.NotationError as wrong:
        must(wrong.problems and all(p.strip() for p in wrong.problems), "a refusal without words")
        must(notation.problem(text), "a refusal without a sentence")
        return
    must(notation.read(write(said)) == said, f"written as {write(said)!r}, which reads as something else")


_TYPES = "http://schemas.openxmlformats.org"
_OFFICE = f"{_TYPES}/officeDocument/2006/relationships"
_MAIN = "application/vnd.openxmlformats-officedocument.spreadsheetml"
FRAME = {
    "[Content_Types].xml": f'<Types xmlns="{_TYPES}/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    f'<Override PartName="/xl/workbook.xml" ContentType="{_MAIN}.sheet.main+xml"/>'
    f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{_MAIN}.worksheet+xml"/>'
    f'<Override PartName="/xl/sharedStrings.xml" ContentType="{_MAIN}.sharedStrings+xml"/>'
    f'<Override PartName="/xl/styles.xml" ContentType="{_MAIN}.styles+xml"/></Types>',
    "_rels/.rels": f'<Relationships xmlns="{_TYPES}/package/2006/relationships">'
    f'<Relationship Id="rId1" Type="{_OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
    "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{_TYPES}/package/2006/relationships">'
    f'<Relationship Id="rId1" Type="{_OFFICE}/worksheet" Target="worksheets/sheet1.xml"/>'
    f'<Relationship Id="rId2" Type="{_OFFICE}/sharedStrings" Target="sharedStrings.xml"/>'
    f'<Relationship Id="rId3" Type="{_OFFICE}/styles" Target="styles.xml"/></Relationships>',
}
"""What every workbook has around its parts (ECMA-376, part 2 and 18)."""
_SHEET = f'xmlns="{_TYPES}/spreadsheetml/2006/main" xmlns:r="{_OFFICE}"'
STANDARD = [
    f'<worksheet {_SHEET}><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is>'
    '<t>hatched</t></is></c></row><row r="2"><c r="A2" t="s"><v>1</v></c><c r="B2" s="1"><v>44350</v></c>'
    '<c r="C2"><f>1+1</f><v>2</v></c></row></sheetData><mergeCells><mergeCell ref="A2:A3"/></mergeCells>'
    "</worksheet>".replace("\n", ""),
    f"<sst {_SHEET}><si><t>tag</t></si><si><t>F1</t></si></sst>",
    f'<styleSheet {_SHEET}><fonts count="1"><font/></fonts>'
    '<fills count="1"><fill><patternFill/></fill></fills>'
    '<borders count="1"><border/></borders><cellStyleXfs count="1"><xf/></cellStyleXfs>'
    '<cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="14" applyNumberFormat="1"/></cellXfs></styleSheet>',
    f'<workbook {_SHEET}><workbookPr date1904="0"/><sheets><sheet name="a" sheetId="1" r:id="rId1"/></sheets>'
    "</workbook>",
]
STANDARD = [part.encode() for part in STANDARD]  # type: ignore[misc]
