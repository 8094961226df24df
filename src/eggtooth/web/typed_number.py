"""Numbers and temperatures as people type them: a comma for the point, °F where the house reads °F."""

from __future__ import annotations

import re

from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.web.names import entry_said
from eggtooth.web.speech import said

_COMMA = re.compile(r"\s*([+-]?\d*),(\d+)\s*", re.ASCII)


def with_point(text: str) -> str:
    """`31,5` as `31.5`; whatever else is typed is left to whoever reads it."""
    found = _COMMA.fullmatch(text)
    return f"{found[1]}.{found[2]}" if found else text


def to_celsius(shown: float, settings: Settings) -> float:
    """A temperature typed in the unit of the house, in °C to a millionth."""
    return round((shown - 32) / 1.8, 6) if settings.fahrenheit else shown


def from_celsius(celsius: float, settings: Settings) -> float:
    """A temperature in °C in the unit of the house, to a millionth."""
    return round(celsius * 1.8 + 32, 6) if settings.fahrenheit else celsius


def value_typed(kind: str, text: str, settings: Settings) -> str:
    """The value of an entry as typed on a page, as a log holds it: a point, and °C for temperatures."""
    text = with_point(text)
    if kind != Kind.TEMPERATURE or not settings.fahrenheit:
        return text
    try:
        return repr(to_celsius(float(text), settings))
    except ValueError:
        return text  # the reader of logs says what is wrong with it


def in_words(entry: Entry, settings: Settings) -> str:
    """An entry in the reader's words, temperatures in the unit of the house."""
    warm = entry.kind is Kind.TEMPERATURE and entry.value is not None
    return entry_said(entry, said(settings.warmth(entry.value or 0)) if warm else None)
