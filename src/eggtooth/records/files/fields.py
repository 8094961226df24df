"""Reading single fields: dates, numbers, tags, tubs, plain text. Each gives the value or raises `Wrong`."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from eggtooth.engine.colony import Tub
from eggtooth.engine.wording import joined, say
from eggtooth.records.files.refusal import Wrong

EARLIEST = date(1950, 1, 1)
"""No animal kept today hatched before; an earlier date is a slip of the hand."""

LEEWAY = timedelta(days=1)
"""How far ahead of today something may be noted: not every clock is set to the room's zone."""

_DAY = r"\d{4}-\d\d-\d\d"
_MOMENT = re.compile(rf"{_DAY}[T ]\d\d:\d\d(:\d\d(\.\d{{1,6}})?)?(Z|[+-]\d\d:\d\d)?", re.ASCII)
_DATE = re.compile(_DAY, re.ASCII)
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_TUB = re.compile(r"(?P<rack>[^|]*[^|\s])-(?P<row>\d{1,4})-(?P<place>\d{1,4})", re.ASCII)
LONGEST_TAG, LONGEST_NAME, LONGEST_GENES, LONGEST_CLUTCH, LONGEST_BY = 40, 200, 1000, 100, 100
LONGEST_DETAIL, LONGEST_WISH, LONGEST_NOTE = 500, 500, 5000
"""The most characters each kind of text may have; the store's columns are as wide."""


def day_of(column: str, text: str, latest: date) -> date:
    """An ISO date between `EARLIEST` and `latest`."""
    text = text.strip()
    try:
        day = date.fromisoformat(text) if _DATE.fullmatch(text) else None
    except ValueError as error:
        raise Wrong(column, text, say("is no day of the calendar: {error}", error=error)) from None
    if day is None:
        raise _not_a_date(column, text)
    return believable(column, text, day, latest)


def moment_of(column: str, text: str, latest: date) -> tuple[date, datetime | None]:
    """An ISO date, or date and time as the room's clock showed it."""
    text = text.strip()
    if not _MOMENT.fullmatch(text):
        return day_of(column, text, latest), None
    try:
        at = datetime.fromisoformat(text)
    except ValueError as error:
        raise Wrong(column, text, say("is no moment of the calendar: {error}", error=error)) from None
    return believable(column, text, at.date(), latest), at


def believable(column: str, text: str, day: date, latest: date) -> date:
    """The day itself, unless it is before `EARLIEST` or after `latest`."""
    if not EARLIEST <= day <= latest:
        side = say("is long past") if day < EARLIEST else say("is in the future")
        raise Wrong(
            column,
            text,
            side,
            say("dates here run from {earliest} to {latest}", earliest=EARLIEST, latest=latest),
        )
    return day


def _not_a_date(column: str, text: str) -> Wrong:
    wanted = say("write year-month-day, like 2026-01-31, or 2026-01-31T21:30")
    return Wrong(column, text, say("is not a date") if text else say("a date is missing"), wanted)


@dataclass(frozen=True, slots=True)
class Measure:
    """A number a field may hold: what it is, its unit, its bounds (inclusive), whether it is a count."""

    what: str
    low: float
    high: float
    whole: bool = False
    unit: str = ""

    @property
    def bounds(self) -> str:
        """The bounds in words."""
        unit = f" {self.unit}" if self.unit else ""
        return say(
            "{what} is from {low:g} to {high:g}{unit}",
            what=self.what,
            low=self.low,
            high=self.high,
            unit=unit,
        )

    def read(self, column: str, text: str) -> float:
        """The number, or `Wrong` with a hint at the usual slips: a comma, a unit, °F."""
        text = text.strip()
        if not text:
            raise Wrong(column, "", say("{what} is missing", what=self.what), self.bounds)
        if not _NUMBER.fullmatch(text):
            raise Wrong(column, text, say("is not a number"), self._instead(text))
        number = float(text)
        if not math.isfinite(number):
            raise Wrong(column, text, say("is not a finite number"), self.bounds)
        if self.whole and number != int(number):
            raise Wrong(column, text, say("is not a whole number; {what} is a count", what=self.what))
        if not self.low <= number <= self.high:
            raise Wrong(column, text, say("cannot be"), self._bounds_for(number))
        return number

    def _instead(self, text: str) -> str:
        head = re.match(r"-?\d+([.,]\d+)?", text, re.ASCII)
        if head and re.fullmatch(r"\d+,\d+", head.group(), re.ASCII) and head.end() == len(text):
            return say("write {number} with a point", number=head.group().replace(",", "."))
        if head and re.fullmatch(r"\s*[^\W\d_.,]{1,12}|\s*[°%]\s*\w?", text[head.end() :]):
            return say("write {number} without the unit", number=head.group())
        return self.bounds

    def _bounds_for(self, number: float) -> str:
        celsius = (number - 32) / 1.8
        if self.unit != "°C" or not self.low <= celsius <= self.high:
            return self.bounds
        told = say("{number:g} °F is {celsius:.1f} °C", number=number, celsius=celsius)
        return joined("; ", (self.bounds, told))


def tag_of(column: str, text: str) -> str:
    """A new tag: short, printable, without the bar that parts candidate sires."""
    tag = text.strip()
    if not tag:
        raise Wrong(column, "", say("the tag is missing"))
    if len(tag) > LONGEST_TAG or "|" in tag or not tag.isprintable():
        raise Wrong(
            column,
            tag,
            say(
                "is not a tag; up to {most} letters, digits and signs, but no |",
                most=LONGEST_TAG,
            ),
        )
    return tag


def tub_of(column: str, text: str) -> Tub:
    """`rack-row-place`."""
    found = _TUB.fullmatch(text.strip())
    if not found or not found["rack"].isprintable() or len(found["rack"]) > LONGEST_TAG:
        raise Wrong(column, text, say("is not a tub"), say("write rack-row-place, like A-3-2"))
    return Tub(found["rack"].strip(), int(found["row"]), int(found["place"]))


def words_of(column: str, text: str, most: int = 2000, lines: bool = False) -> str:
    """Plain text: stripped, not too long, no control characters (line breaks only where `lines`)."""
    words = text.strip()
    if len(words) > most:
        raise Wrong(column, words, say("is too long; up to {most} characters", most=most))
    bad = next((c for c in words if not c.isprintable() and not (lines and c in "\r\n\t")), "")
    if bad and not _harmless(bad):
        raise Wrong(column, words, say("holds a control character (U+{n:04X})", n=ord(bad)))
    return words


def _harmless(sign: str) -> bool:
    import unicodedata

    return unicodedata.category(sign) in {"Zs", "Cf", "Co", "Cn"}
