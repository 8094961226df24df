"""The house's settings at `/settings`: nights, season, gates and limits, each with its usual value; dated."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.dates import MONTHS, WEEKDAYS
from django.utils.formats import date_format
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_http_methods

from eggtooth.engine.house import MonthDay, Settings
from eggtooth.records import store
from eggtooth.web.doors import keeper_of
from eggtooth.web.speech import said, spoken
from eggtooth.web.typed_number import from_celsius, to_celsius, with_point

NUMBERS: dict[str, tuple[str, str, float]] = {
    "night_drop_c": (gettext_noop("Nights cooler by"), "°C", 1),
    "incubator_c": (gettext_noop("Incubator"), "°C", 1),
    "male_least_g": (gettext_noop("Males from"), "g", 1),
    "male_best_g": (gettext_noop("Males best at"), "g", 1),
    "male_floor_months": (gettext_noop("Males from the age of"), "months", 1),
    "female_least_g": (gettext_noop("Females from"), "g", 1),
    "female_floor_months": (gettext_noop("Females from the age of"), "months", 1),
    "female_meal_days": (gettext_noop("Females in season eat every"), "days", 1),
    "male_rest_days": (gettext_noop("Rest a male so long after he stops eating"), "days", 1),
    "male_rest_days_latest": (gettext_noop("A big male at the latest after"), "days", 1),
    "loss_worry_percent": (gettext_noop("Watch a male that lost"), "%", 1),
    "loss_dramatic_percent": (gettext_noop("Rest a male that lost"), "%", 1),
    "kinship_limit": (gettext_noop("No pair whose young would be inbred above (F)"), "%", 100),
    "quarantine_days": (gettext_noop("Quarantine"), "days", 1),
}
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
    usual = Settings()
    context = {
        "days": [(n, name, n in now.pairing_nights) for n, name in WEEKDAYS.items()],
        "dates": [(f, label, *getattr(now, f), _said(getattr(usual, f))) for f, label in DATES.items()],
        "month_days": range(1, 32),
        "months": list(MONTHS.items()),
        "numbers": [
            (f, label, _unit(unit, now), *(_read_as(f, getattr(s, f), now) for s in (now, usual)))
            for f, (label, unit, _) in NUMBERS.items()
        ],
        "now": now,
        "racks": ", ".join(now.quarantine_racks),
        "past": list(reversed(list(enumerate(store.settings_past())))),
        "problem": problem,
    }
    return render(request, "settings.html", context, status=400 if problem else 200)


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
        store.save_settings(chosen, keeper_of(request).name)


def _typed(request: HttpRequest, now: Settings) -> dict[str, Any]:
    said = request.POST
    racks = tuple(r.strip() for r in said.get("quarantine_racks", "").split(",") if r.strip())
    return {
        "pairing_nights": tuple(_whole("night", n, 0, 6) for n in said.getlist("night")),
        "quarantine_racks": racks,
        "fahrenheit": said.get("fahrenheit") == "on",
        **{f: _date(said, f, label) for f, label in DATES.items()},
        **{f: _meant(f, _number(said.get(f, ""), label), now) for f, (label, *_) in NUMBERS.items()},
    }


def _date(said: Any, name: str, label: str) -> MonthDay:
    return (
        _whole(label, said.get(f"{name}-month", ""), 1, 12),
        _whole(label, said.get(f"{name}-day", ""), 1, 31),
    )


def _whole(label: str, text: str, least: int, most: int) -> int:
    if not (text.isascii() and text.isdecimal() and least <= int(text) <= most):
        raise ValueError(f"{label}: {text!r} is not a whole number from {least} to {most}")
    return int(text)


def _number(text: str, label: str) -> float:
    try:
        return float(with_point(text))
    except ValueError:
        raise ValueError(f"{label}: {text!r} is not a number") from None


def _unit(unit: str, now: Settings) -> str:
    return "°F" if unit == "°C" and now.fahrenheit else unit


def _read_as(field: str, value: float, now: Settings) -> str:
    """A setting in the unit of the page."""
    shown = from_celsius(value, now) if field == "incubator_c" else value * _times(field, now)
    return f"{round(shown, 6):g}"


def _meant(field: str, shown: float, now: Settings) -> float:
    """What was typed in the unit of the page, in that of the settings."""
    if field == "incubator_c":
        return to_celsius(shown, now)
    return round(shown / _times(field, now), 6)


def _times(field: str, now: Settings) -> float:
    return 1.8 if field == "night_drop_c" and now.fahrenheit else NUMBERS[field][2]


def _said(day: MonthDay) -> str:
    return date_format(date(2024, *day), "MONTH_DAY_FORMAT")  # in a year that has every day
