"""Labels for tubs and cards for clutches: pdf exact in millimetres, each with a QR code to its page.

QR codes follow ISO/IEC 18004; they are drawn as plain squares at error correction M.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

from eggtooth.engine.colony import Colony, Sex, Tub
from eggtooth.engine.wording import joined, say
from eggtooth.jobs.hatching import HatchedClutch

QUIET_MODULES = 4
ALWAYS = datetime(2000, 1, 1, tzinfo=UTC)
MARGIN_MM, LINE_MM = 2.0, 4.4
FONTS = (
    "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf",
    "/Library/Fonts/Arial Unicode.ttf",
    "C:/Windows/Fonts/arial.ttf",
)


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A sheet of labels: paper, labels across and down, size of one, and where the first begins, in mm."""

    name: str
    paper_mm: tuple[float, float]
    across: int
    down: int
    label_mm: tuple[float, float]
    first_mm: tuple[float, float]
    step_mm: tuple[float, float]

    @property
    def on_one(self) -> int:
        """Labels on one sheet."""
        return self.across * self.down

    def corner(self, n: int) -> tuple[float, float]:
        """Left upper corner of the n-th label of a sheet, row by row."""
        row, column = divmod(n, self.across)
        return self.first_mm[0] + column * self.step_mm[0], self.first_mm[1] + row * self.step_mm[1]


A4, LETTER = (210.0, 297.0), (215.9, 279.4)
SHEETS = {
    "a4-24": LabelSheet(say("A4, 24 of 70 x 37 mm"), A4, 3, 8, (70, 37), (0, 0.5), (70, 37)),
    "a4-21": LabelSheet(say("A4, 21 of 63.5 x 38.1 mm"), A4, 3, 7, (63.5, 38.1), (7.25, 15.15), (66.0, 38.1)),
    "a4-65": LabelSheet(say("A4, 65 of 38.1 x 21.2 mm"), A4, 5, 13, (38.1, 21.2), (4.75, 10.7), (40.6, 21.2)),
    "letter-30": LabelSheet(
        say("Letter, 30 of 66.7 x 25.4 mm"), LETTER, 3, 10, (66.675, 25.4), (4.7625, 12.7), (69.85, 25.4)
    ),
    "roll-62": LabelSheet(say("Roll, one of 62 x 29 mm"), (62, 29), 1, 1, (62, 29), (0, 0), (62, 29)),
}
"""Common sizes of label sheets (sizes of the paper trade; common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Label:
    """One label: the address its code opens, the large line and the small ones."""

    address: str
    title: str
    lines: tuple[str, ...]


def tub_labels(colony: Colony, on: date, site: str, rack: str = "") -> list[Label]:
    """A label for each tub somebody lives in, in walking order; its code leads to the tub, not the animal."""
    here: dict[Tub, list[str]] = {}
    for animal in colony.here(on):
        tub = colony.tub_of(animal.tag, on)
        if tub is not None and rack in ("", tub.rack):
            sex = {Sex.MALE: "M", Sex.FEMALE: "F"}.get(animal.sex, "")
            born = f"{animal.hatched:%Y}" if animal.hatched else ""
            words = " ".join(filter(None, (animal.tag, animal.name, sex, born)))
            here.setdefault(tub, []).extend([words, animal.genes])
    return [
        Label(f"{site}/tub/{quote(str(tub))}", str(tub), tuple(filter(None, lines)))
        for tub, lines in sorted(here.items())
    ]


def hatch_cards(clutches: Iterable[HatchedClutch], site: str) -> list[Label]:
    """A card for each hatched clutch: dam, sires, day and number; the code leads to its page."""
    return [
        Label(
            f"{site}/hatchlings/{quote(c.dam)}/{c.hatched.on.isoformat()}",
            say("{dam} {on:%-d %b %Y}", dam=c.dam, on=c.hatched.on),
            (
                say("by {sires}", sires=joined(" or ", c.sires)) if c.sires else say("sire not known"),
                say("{n:g} hatched", n=c.hatched.value),
            ),
        )
        for c in clutches
    ]


def printed(labels: Sequence[Label], sheet: LabelSheet, skip: int = 0) -> bytes:
    """The labels as a pdf; `skip` leaves the first so many places of the first sheet empty."""
    page = _page(sheet)
    for n, label in enumerate(labels, skip):
        if n == skip or n % sheet.on_one == 0:
            page.add_page()
        _draw(page, label, sheet.corner(n % sheet.on_one), sheet.label_mm)
    if not labels:
        page.add_page()
    return bytes(page.output())


def _page(sheet: LabelSheet) -> Any:
    from fpdf import FPDF

    page = FPDF(unit="mm", format=sheet.paper_mm)
    page.set_auto_page_break(False)
    page.set_margin(0)
    page.set_creation_date(ALWAYS)  # same labels, same bytes
    if font := _system_font():
        page.add_font("house", fname=font)
    return page


@cache
def _system_font() -> str:
    """A font of this machine with letters beyond the western ones, if there is one."""
    return next((f for f in FONTS if Path(f).is_file()), "")


def _draw(page: Any, label: Label, corner: tuple[float, float], size: tuple[float, float]) -> None:
    (left, top), (wide, high) = corner, size
    code = min(high, wide / 2) - 2 * MARGIN_MM
    _draw_code(page, label.address, left + MARGIN_MM, top + (high - code) / 2, code)
    x, room = left + 2 * MARGIN_MM + code, wide - code - 3 * MARGIN_MM
    _write(page, label.title, (x, top + MARGIN_MM), room, 13)
    lines = int((high - 2 * MARGIN_MM - 1.5 * LINE_MM) / LINE_MM)
    for n, words in enumerate(_wrapped(page, label.lines, room)[:lines]):
        _write(page, words, (x, top + MARGIN_MM + (1.5 + n) * LINE_MM), room, 8)


def _draw_code(page: Any, address: str, left: float, top: float, side: float) -> None:
    import segno

    rows = list(segno.make(address, error="m", micro=False).matrix_iter(border=QUIET_MODULES))
    step = side / len(rows)
    page.set_fill_color(0, 0, 0)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                page.rect(left + x * step, top + y * step, step, step, style="F")


def _write(page: Any, words: str, at: tuple[float, float], room: float, points: float) -> None:
    said = _font(page, words, points)
    while said and page.get_string_width(said) > room:
        said = said[:-1]
    page.text(at[0], at[1] + points * 0.3, said)


def _font(page: Any, words: str, points: float) -> str:
    """Set a font that holds the words; what no font here holds becomes a question mark."""
    if "house" in page.fonts:
        page.set_font("house", size=points)
        return words
    page.set_font("Helvetica", size=points)
    return words.encode("cp1252", "replace").decode("cp1252")


def _wrapped(page: Any, lines: Iterable[str], room: float) -> list[str]:
    """Lines broken between words where they are too wide."""
    found: list[str] = []
    for line in lines:
        words = ""
        for word in line.split():
            longer = f"{words} {word}".strip()
            if words and page.get_string_width(_font(page, longer, 8)) > room:
                found.append(words)
                words = word
            else:
                words = longer
        found.append(words)
    return found
