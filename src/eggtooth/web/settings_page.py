"""The house's settings at `/settings`: nights, season, gates and limits, each with its usual value; dated."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import replace
from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.dates import MONTHS, WEEKDAYS
from django.utils.formats import date_format
from django.utils.translation import gettext, gettext_noop
from django.views.decorators.http import require_http_methods

from eggtooth.engine.house import MonthDay, Settings
from eggtooth.engine.wording import say
from eggtooth.records import store
from eggtooth.records.files.fields import LONGEST_TAG, words_of
from eggtooth.records.files.refusal import Wrong
from eggtooth.web.doors import keeper_of
from eggtooth.web.settings_numbers import NUMBERS, check, meant, read_as, unit_of
from eggtooth.web.speech import said, spoken

DATES = {
    "year_turns": gettext_noop("The breeding year begins"),
    "season_opens": gettext_noop("Males may go in from"),
    "season_closes": gettext_noop("The season closes"),
    "cool_from": gettext_noop("Cooler nights from"),
    "warm_from": gettext_noop("Usual nights again from"),
}


@require_http_methods(["GET", "HEAD", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """The page. A change adds a dated row; going back to a former one adds it again."""
    now, problem = store.settings(), ""
    if request.method == "POST":
        try:
            _save(request, now)
        except ValueError as wrong:
            problem = said(str(wrong))
        else:
            return redirect("settings")
    stands = _as_form(now)
    if problem and "again" not in request.POST:
        stands |= {name: request.POST.getlist(name) for name in stands}
    usual = _as_form(replace(Settings(), fahrenheit=now.fahrenheit))
    context = {
        "days": [(n, name, str(n) in stands["night"]) for n, name in WEEKDAYS.items()],
        "dates": [
            (
                f,
                label,
                *(_first(stands, f"{f}-{part}") for part in ("month", "day")),
                _said(getattr(Settings(), f)),
            )
            for f, label in DATES.items()
        ],
        "month_days": list(map(str, range(1, 32))),
        "months": [(str(n), name) for n, name in MONTHS.items()],
        "numbers": [
            (f, number.label, unit_of(f, now), _first(stands, f), _first(usual, f))
            for f, number in NUMBERS.items()
        ],
        "fahrenheit": stands["fahrenheit"] == ["on"],
        "racks": _first(stands, "quarantine_racks"),
        "past": list(reversed(list(enumerate(store.settings_past())))),
        "problem": problem,
    }
    return render(request, "settings.html", context, status=400 if problem else 200)


def _as_form(settings: Settings) -> dict[str, list[str]]:
    """Settings as the form sends them."""
    dates = {f: getattr(settings, f) for f in DATES}
    return {
        "night": list(map(str, settings.pairing_nights)),
        "quarantine_racks": [", ".join(settings.quarantine_racks)],
        "fahrenheit": ["on"] if settings.fahrenheit else [],
        **{f: [read_as(f, getattr(settings, f), settings)] for f in NUMBERS},
        **{f"{f}-month": [str(month)] for f, (month, _) in dates.items()},
        **{f"{f}-day": [str(day)] for f, (_, day) in dates.items()},
    }


def _first(form: dict[str, list[str]], name: str) -> str:
    return next(iter(form[name]), "")


def _save(request: HttpRequest, now: Settings) -> None:
    past = store.settings_past()
    if request.POST.get("seen") != str(len(past)):
        raise ValueError(
            spoken("The settings were changed by somebody else meanwhile; look again and save again.")
        )
    if again := request.POST.get("again"):
        chosen = past[_whole("again", again, 0, len(past) - 1)].settings
    else:
        chosen = replace(now, **_typed(request, now))
    if chosen != now:
        check(chosen)
        store.save_settings(chosen, keeper_of(request).name)


def _typed(request: HttpRequest, now: Settings) -> dict[str, Any]:
    said = request.POST
    named = (
        words_of(gettext("Quarantine racks"), r, LONGEST_TAG)
        for r in said.get("quarantine_racks", "").split(",")
    )

    return {
        "pairing_nights": tuple(_whole("night", n, 0, 6) for n in said.getlist("night")),
        "quarantine_racks": tuple(filter(None, named)),
        "fahrenheit": said.get("fahrenheit") == "on",
        **{f: _date(said, f, label) for f, label in DATES.items()},
        **{f: meant(f, said.get(f, ""), now) for f in NUMBERS},
    }


def _date(said: Any, name: str, label: str) -> MonthDay:
    month = _whole(label, said.get(f"{name}-month", ""), 1, 12)
    day = _whole(label, said.get(f"{name}-day", ""), 1, 31)
    if day > monthrange(2025, month)[1]:
        raise Wrong(gettext(label), f"{day} {MONTHS[month]}", say("is not a day of every year"))
    return month, day


def _whole(label: str, text: str, least: int, most: int) -> int:
    if not (text.isascii() and text.isdecimal() and least <= int(text) <= most):
        raise Wrong(
            gettext(label), text, say("is not a whole number from {least} to {most}", least=least, most=most)
        )
    return int(text)


def _said(day: MonthDay) -> str:
    return date_format(date(2024, *day), "MONTH_DAY_FORMAT")  # in a year that has every day
