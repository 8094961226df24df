"""Days in the reader's own way: order and names of the months as their language has them.

`day` is short with its year, `day_month` short without, `day_long` whole; templates have them as filters.
"""

from __future__ import annotations

import re
from datetime import date

from django import template
from django.utils import formats

register = template.Library()


@register.filter
def day(on: date | None) -> str:
    """`4 Feb 2026`, `4. Feb 2026`, `Feb 4, 2026`; nothing for no day."""
    return _written(on, "DATE_FORMAT", "M")


@register.filter
def day_long(on: date | None) -> str:
    """`4 February 2026`, `4. Februar 2026`, `February 4, 2026`."""
    return _written(on, "DATE_FORMAT", "F")


@register.filter
def day_month(on: date | None) -> str:
    """`4 Feb`, `4. Feb`, `Feb 4`."""
    return _written(on, "MONTH_DAY_FORMAT", "M")


@register.filter
def clock(at: date | None) -> str:
    """A day and the time on it."""
    return f"{day(at)} {formats.date_format(at, 'H:i')}" if at else ""


def month_of(on: date) -> str:
    """`Feb`."""
    return formats.date_format(on, "M")


def _written(on: date | None, name: str, month: str) -> str:
    if not on:
        return ""
    return formats.date_format(on, re.sub("[FMN]", month, formats.get_format(name)))
