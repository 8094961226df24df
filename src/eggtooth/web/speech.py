"""The engine's sentences in the reader's language.

The template is looked up in the catalogue and filled anew: days and numbers as the reader writes them, words
of the records and sentences within it in turn. In templates it is the filter `said`.
"""

from __future__ import annotations

import re
from datetime import date
from enum import Enum
from string import Formatter
from typing import Any

from django import template
from django.utils import formats
from django.utils.translation import gettext, ngettext

from eggtooth.engine.spans import Span
from eggtooth.engine.wording import Joined, Said, filled
from eggtooth.web.days import day, day_long, day_month

register = template.Library()


@register.filter
def said(text: object) -> str:
    """A sentence in the reader's language; anything else as `str` writes it."""
    if isinstance(text, Joined):
        by = gettext(text.template) if any(map(str.isalpha, text.template)) else text.template
        return by.join(map(said, text.parts))
    if isinstance(text, Said):
        return _SPEAKER.vformat(_template(text), (), text.fields) if text.fields else gettext(text.template)
    if isinstance(text, Span):
        return said(str(text))
    if isinstance(text, Enum):
        return gettext(str(text.value)) if text.value else ""
    return "" if text is None else str(text)


def spoken(template: str, /, **fields: Any) -> str:
    """A sentence of the pages themselves; see `say`."""
    return said(filled(template, "", fields))


def spoken_n(one: str, many: str, /, n: float, **fields: Any) -> str:
    """A sentence of the pages themselves whose form a number governs; see `say_n`."""
    return said(filled(one, many, {"n": n, **fields}))


def _template(text: Said) -> str:
    return ngettext(text.template, text.plural, text.fields["n"]) if text.plural else gettext(text.template)


class _Speaker(Formatter):
    """Fills a template as its reader writes days and numbers."""

    def format_field(self, value: Any, format_spec: str) -> str:
        """One field; a day by how much of it the template asks for, whatever its order there."""
        if isinstance(value, date):
            return _day(value, format_spec)
        if isinstance(value, float | int) and not isinstance(value, Enum | bool):
            return number(format(value, format_spec))
        return said(value) if not format_spec else format(said(value), format_spec)


_SPEAKER = _Speaker()


def _day(on: date, spec: str) -> str:
    if "%B" in spec:
        return day_long(on)
    return day(on) if not spec or "%Y" in spec else day_month(on)


def number(text: str) -> str:
    """A number written in English with the reader's decimal sign, and a gap before `%` where it is usual."""
    point = formats.get_format("DECIMAL_SEPARATOR")
    if point == ".":
        return text
    return re.sub(r" ?%", "\N{NO-BREAK SPACE}%", text.replace(".", str(point)))
