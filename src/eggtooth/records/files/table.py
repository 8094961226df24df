"""One csv file as rows of text: encoding, quoting and the header are settled before any field is read."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from eggtooth.engine.wording import say
from eggtooth.records.files.refusal import Refusal, Wrong, nearest
from eggtooth.records.files.safe_cells import GUARDED, PlainRows

COLUMNS = {
    "animals": ("tag", "name", "sex", "hatched", "genes", "sire", "dam", "clutch", "tub", "state", "note"),
    "log": ("date", "tag", "kind", "value", "detail"),
    "voided": ("date", "tag", "kind", "value", "detail", "entry id", "voided by", "voided at", "why"),
    "wishes": ("wish", "weight", "count"),
    "incubators": ("tag", "places", "target_c"),
}
"""The columns each file must have, in the order they are written."""

LARGEST_BYTES = 1 << 30


class Unreadable(Exception):
    """A whole file cannot be read; carries the refusals that say why."""

    def __init__(self, *refusals: Refusal) -> None:
        """Keep the refusals."""
        super().__init__("; ".join(map(str, refusals)))
        self.refusals = tuple(replace(r, whole=True) for r in refusals)


@dataclass(slots=True)
class Table:
    """The header and the rows still to be read. `line` is the file's line the last row ended on.

    `places` gives for each wanted column its place in a row, `extra` the places of all other columns.
    """

    file: str
    header: list[str]
    places: dict[str, int]
    extra: dict[str, int]
    plain: bool
    text: str
    reader: Iterator[list[str]]

    @property
    def quoted(self) -> bool:
        """Whether any quote, or a cell behind an apostrophe, stands in the file."""
        return '"' in self.text or GUARDED.search(self.text) is not None

    def plain_lines(self) -> list[str]:
        """The lines after the header, for a file without quotes; splitting them is quicker than `reader`."""
        text = self.text
        if "\r" in text:
            text = text.replace("\r\n", "\n").replace("\r", "\n")
        return text.split("\n")[1:]

    @property
    def line(self) -> int:
        """Line the last row ended on, the first line being 1."""
        return int(self.reader.line_num)  # type: ignore[attr-defined]

    def broken(self, error: csv.Error) -> Refusal:
        """The refusal for a row whose quoting cannot be understood."""
        return Refusal(self.file, self.line, "", "", *_csv_words(str(error)), whole=True)

    def noted(self, row: list[str]) -> str:
        """What stands in columns of the user's own: `column: value`, joined by semicolons."""
        said = ((name, row[i].strip()) for name, i in self.extra.items())
        return "; ".join(f"{name}: {value}" for name, value in said if value)

    def too_wide(self, row: list[str]) -> Wrong:
        """A row with more or fewer fields than the header."""
        why = say("{n} fields where the header has {wanted}", n=len(row), wanted=len(self.header))
        hint = say("a comma inside a field needs quotes around the field")
        return Wrong("", "", why, hint if len(row) > len(self.header) else "")


def open_table(path: Path, role: str, optional: tuple[str, ...] = ()) -> Table:
    """Open one file and check its header. Raises `Unreadable`. The whole text is held in memory."""
    text = _text(path)
    reader: Iterator[list[str]] = csv.reader(io.StringIO(text, newline=""), strict=True)
    if GUARDED.search(text):
        reader = PlainRows(reader)  # type: ignore[arg-type]
    try:
        header = next(reader, [])
    except csv.Error as error:
        raise Unreadable(Refusal(path.name, 1, "", "", *_csv_words(str(error)))) from None
    names = [name.strip().casefold() for name in header]
    _check_header(path.name, role, names, optional)
    wanted = COLUMNS[role] + optional
    places = {name: names.index(name) for name in wanted if name in names}
    extra = {header[i].strip(): i for i, name in enumerate(names) if name not in wanted and name}
    return Table(path.name, header, places, extra, tuple(names) == COLUMNS[role], text, reader)


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise _whole(path, "is larger than 1 GB", "split the file")
        raw = path.read_bytes()
    except OSError as error:
        raise _whole(path, f"cannot be read: {error.strerror or error}") from None
    if raw[:4] in (b"PK\x03\x04", b"\xd0\xcf\x11\xe0"):
        raise _whole(path, "is a workbook, not csv", "save it as csv in UTF-8")
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise _whole(path, "is written in UTF-16", "save it as csv in UTF-8")
    if b"\0" in raw:
        line = raw.count(b"\n", 0, raw.index(b"\0")) + 1
        raise Unreadable(Refusal(path.name, line, "", "", "a NUL byte stands here; this is not a csv file"))
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        why = f"byte 0x{raw[error.start]:02x} is not UTF-8"
        raise Unreadable(Refusal(path.name, line, "", "", why, "save the file as csv in UTF-8")) from None


def _whole(path: Path, why: str, wanted: str = "") -> Unreadable:
    return Unreadable(Refusal(path.name, 0, "", "", f"the file {why}", wanted))


def _check_header(file: str, role: str, names: list[str], optional: tuple[str, ...]) -> None:
    if not any(names):
        wanted = f"the first line names the columns: {','.join(COLUMNS[role])}"
        raise Unreadable(Refusal(file, 1, "", "", "there is no header", wanted))
    missing = [c for c in COLUMNS[role] if c not in names]
    if missing and (other := _other_role(role, names)):
        why = f"these are the columns of {other}.csv, not of {role}.csv"
        raise Unreadable(Refusal(file, 1, "", "", why, f"{role}.csv has {','.join(COLUMNS[role])}"))
    if missing and len(names) == 1 and (sign := next((s for s in ";\t|" if s in names[0]), "")):
        why = f"the columns are parted by {'a tab' if sign == chr(9) else sign}"
        raise Unreadable(Refusal(file, 1, "", "", why, "part them by commas"))
    spare = [n for n in names if n and n not in COLUMNS[role] + optional]
    twice = {n for n in names if n and names.count(n) > 1}
    found = [Refusal(file, 1, c, "", "this column is missing", *_spelt(c, spare, role)) for c in missing]
    found += [
        Refusal(file, 1, n, "", "this column stands in the header more than once") for n in sorted(twice)
    ]
    if found:
        raise Unreadable(*found)


def _spelt(column: str, spare: list[str], role: str) -> tuple[str, str]:
    like = nearest(column, spare)
    return (
        (f"name {like} so, if that is it", "") if like else (f"the columns are {','.join(COLUMNS[role])}", "")
    )


def _other_role(role: str, names: list[str]) -> str:
    for other, columns in COLUMNS.items():
        if other != role and set(columns) <= set(names) and not set(columns) <= set(COLUMNS[role]):
            return other
    return ""


def _csv_words(error: str) -> tuple[str, str]:
    if "unexpected end" in error:
        return "a quote is opened and never closed", 'write a quote inside a field twice: ""'
    if "field larger" in error:
        return f"a field is longer than {csv.field_size_limit():,} characters", "is a quote not closed?"
    if "expected after" in error:
        return "something stands after a closing quote", 'write a quote inside a field twice: ""'
    return f"this line is not csv ({error})", ""
