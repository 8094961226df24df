"""The numbers of the house's settings as the page shows them: unit, bounds, and which may not pass which.

Bounds are what no house means, not what is unusual; they bind what is typed, not rows that stand already.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext, gettext_noop

from eggtooth.engine.house import Settings
from eggtooth.engine.wording import say
from eggtooth.records.files.fields import Measure
from eggtooth.records.files.refusal import Wrong
from eggtooth.records.files.wishes import TARGET_C
from eggtooth.web.typed_number import from_celsius, to_celsius, with_point


@dataclass(frozen=True, slots=True)
class Number:
    """One number: its label, unit and bounds as read on the page, and how often it is what is kept."""

    label: str
    unit: str
    low: float
    high: float
    times: float = 1


NUMBERS = {
    "night_drop_c": Number(gettext_noop("Nights cooler by"), "°C", 0, 10),
    "incubator_c": Number(gettext_noop("Incubator"), "°C", TARGET_C.low, TARGET_C.high),
    "male_least_g": Number(gettext_noop("Males from"), "g", 100, 6000),
    "male_best_g": Number(gettext_noop("Males best at"), "g", 100, 6000),
    "male_floor_months": Number(gettext_noop("Males from the age of"), "months", 0, 120),
    "female_least_g": Number(gettext_noop("Females from"), "g", 100, 6000),
    "female_floor_months": Number(gettext_noop("Females from the age of"), "months", 0, 120),
    "female_meal_days": Number(gettext_noop("Females in season eat every"), "days", 1, 90),
    "male_rest_days": Number(gettext_noop("Rest a male so long after he stops eating"), "days", 1, 365),
    "male_rest_days_latest": Number(gettext_noop("A big male at the latest after"), "days", 1, 365),
    "loss_worry_percent": Number(gettext_noop("Watch a male that lost"), "%", 1, 60),
    "loss_dramatic_percent": Number(gettext_noop("Rest a male that lost"), "%", 1, 60),
    "kinship_limit": Number(
        gettext_noop("No pair whose young would be inbred above (F)"), "%", 0, 100, times=100
    ),
    "quarantine_days": Number(gettext_noop("Quarantine"), "days", 0, 1000),
}
NOT_ABOVE = (
    ("male_least_g", "male_best_g"),
    ("male_rest_days", "male_rest_days_latest"),
    ("loss_worry_percent", "loss_dramatic_percent"),
)


def unit_of(field: str, now: Settings) -> str:
    """The unit the page shows."""
    unit = NUMBERS[field].unit
    return "°F" if unit == "°C" and now.fahrenheit else unit


def read_as(field: str, value: float, now: Settings) -> str:
    """A setting in the unit of the page."""
    shown = from_celsius(value, now) if field == "incubator_c" else value * _times(field, now)
    return f"{round(shown, 6):g}"


def meant(field: str, text: str, now: Settings) -> float:
    """What was typed in the unit of the page, in that of the settings. Raises `ValueError`."""
    number, unit = NUMBERS[field], unit_of(field, now)
    low, high = (float(read_as(field, b / number.times, now)) for b in (number.low, number.high))
    bounds = Measure(say("this number"), low, high, unit=gettext(unit))
    shown = bounds.read(gettext(number.label), with_point(text))
    return to_celsius(shown, now) if field == "incubator_c" else round(shown / _times(field, now), 6)


def check(chosen: Settings) -> None:
    """Refuse settings with a number past its bounds, or two the wrong way round. Raises `ValueError`."""
    for field in NUMBERS:
        meant(field, read_as(field, getattr(chosen, field), chosen), chosen)
    for low, high in NOT_ABOVE:
        if getattr(chosen, low) > getattr(chosen, high):
            raise Wrong(
                gettext(NUMBERS[low].label),
                read_as(low, getattr(chosen, low), chosen),
                say(
                    "is more than {value} at “{label}”",
                    value=read_as(high, getattr(chosen, high), chosen),
                    label=gettext(NUMBERS[high].label),
                ),
                say("change one of them"),
            )


def _times(field: str, now: Settings) -> float:
    return 1.8 if field == "night_drop_c" and now.fahrenheit else NUMBERS[field].times
