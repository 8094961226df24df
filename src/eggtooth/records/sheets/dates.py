"""Dates as sheets hold them: year, day or month first, with a month's name, or as a count of days."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from enum import StrEnum

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NUMBERS = re.compile(r"(\d{1,4})[./\- ](\d{1,2})[./\- ](\d{1,4})(?:[ T](\d{1,2}:\d\d)(?::\d\d)?)?", re.ASCII)
_NAMED = re.compile(r"(?:(\d{1,2})\.?[ \-]*)?([A-Za-z]{3,9})\.?[ \-]*(\d{1,2})?,?[ \-]+(\d{4})", re.ASCII)
COUNT_FROM = date(1899, 12, 30)
"""Day 0 of the common count of days in workbooks (ECMA-376, 18.17.4.1: the 1900 date base)."""


class Order(StrEnum):
    """Which number of a date comes first, where the year does not."""

    YEAR = "year"
    DAY = "day"
    MONTH = "month"


def order_of(texts: Iterable[str]) -> Order:
    """The order that fits all dates of a column: a first number above 12 is a day, a second one too."""
    pairs = [(int(m[1]), int(m[2])) for t in texts if (m := _NUMBERS.fullmatch(t.strip())) and len(m[1]) < 3]
    if not pairs:
        return Order.YEAR
    return Order.MONTH if any(second > 12 for _, second in pairs) else Order.DAY


def ambiguous(texts: Iterable[str]) -> bool:
    """Whether nothing in the column tells day from month."""
    pairs = [(int(m[1]), int(m[2])) for t in texts if (m := _NUMBERS.fullmatch(t.strip())) and len(m[1]) < 3]
    return bool(pairs) and all(first <= 12 and second <= 12 for first, second in pairs)


def iso_date(text: str, order: Order) -> str:
    """The date in ISO form, with its time of day if it has one; a text that is no date stays as it is."""
    text = text.strip()
    try:
        if found := _NUMBERS.fullmatch(text):
            return _from_numbers(found, order)
        if found := _NAMED.fullmatch(text):
            return _from_name(found, text)
        if re.fullmatch(r"\d{5}", text, re.ASCII):
            return (COUNT_FROM + timedelta(days=int(text))).isoformat()
    except (ValueError, OverflowError):
        return text
    return text


def _from_numbers(found: re.Match[str], order: Order) -> str:
    first, second, third = (int(found[i]) for i in (1, 2, 3))
    if len(found[1]) == 4:
        day = date(first, second, third)
    else:
        year = third if len(found[3]) == 4 else 2000 + third
        month, day_number = (first, second) if order is Order.MONTH else (second, first)
        day = date(year, month, day_number)
    if not found[4]:
        return day.isoformat()
    return datetime.combine(day, datetime.strptime(found[4], "%H:%M").time()).isoformat(timespec="minutes")


def _from_name(found: re.Match[str], text: str) -> str:
    month = found[2][:3].casefold()
    number = found[1] or found[3]
    if month not in MONTHS or not number:
        return text
    return date(int(found[4]), MONTHS.index(month) + 1, int(number)).isoformat()
