"""Cells that a spreadsheet would run as a formula go out behind an apostrophe, and come in without it.

A text is guarded when after any apostrophes it begins with a sign that starts a formula, and is no plain
number: a text that truly begins with an apostrophe and such a sign gets one more, and comes back as it was.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Protocol

SIGNS = "=+\\-@\t\r\n＝＋－＠"
GUARDED = re.compile(f"'+[{SIGNS}]")
RISKY = re.compile(f"'*[{SIGNS}]")
NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?", re.ASCII)


class Rows(Protocol):
    """Rows of a csv file, and the line the last one ended on."""

    line_num: int

    def __iter__(self) -> Iterator[list[str]]:
        """The rows."""

    def __next__(self) -> list[str]:
        """The next row."""


def guarded(text: str) -> str:
    """The text as it goes into a csv file."""
    return f"'{text}" if RISKY.match(text) and not NUMBER.fullmatch(text) else text


def plain(text: str) -> str:
    """The text as it was before `guarded`."""
    return text[1:] if GUARDED.match(text) else text


class PlainRows:
    """Rows of a csv reader, each cell as it was before `guarded`."""

    def __init__(self, rows: Rows) -> None:
        """Read on from another reader."""
        self.rows = rows

    def __iter__(self) -> Iterator[list[str]]:
        """The rows."""
        return self

    def __next__(self) -> list[str]:
        """The next row."""
        return list(map(plain, next(self.rows)))

    @property
    def line_num(self) -> int:
        """The line the last row ended on."""
        return self.rows.line_num
