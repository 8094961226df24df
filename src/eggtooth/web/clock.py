"""Which day the pages show: today by the machine's clock, or the day the server was started for."""

from __future__ import annotations

import os
from datetime import date

from django.http import HttpRequest

from eggtooth.engine.wording import say
from eggtooth.jobs import noting


def today() -> date:
    """The day the room lives in; `EGGTOOTH_TODAY` holds it for a server started for a fixed day."""
    fixed = os.environ.get("EGGTOOTH_TODAY")
    return date.fromisoformat(fixed) if fixed else date.today()


def day_asked(request: HttpRequest) -> date:
    """The day named by `on` in the address or the form, else today. Raises `ValueError` on a bad date."""
    day = _day_said(request)
    if not 1970 <= day.year <= 2100:
        raise ValueError(
            say("{text} is too far away; the round is made for 1970 to 2100", text=day.isoformat())
        )
    return day


def _day_said(request: HttpRequest) -> date:
    text = request.POST.get("on") or request.GET.get("on")
    if not text:
        return today()
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError(
            say("{text!r} is not a date; write it as {today}", text=text, today=today().isoformat())
        ) from None


def may_note(on: date) -> bool:
    """Whether anything can be noted for a day; what is to come is only looked at."""
    try:
        return noting.noted_on(on, today()) == on
    except ValueError:
        return False


def day_noted(request: HttpRequest) -> date:
    """The day something is noted for, by the rule of a log's dates. Raises `ValueError`."""
    return noting.noted_on(_day_said(request), today())
