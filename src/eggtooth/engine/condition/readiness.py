"""Who may breed tonight: mass, age, quarantine. Unknown is not a no; it is said."""

from __future__ import annotations

import re
from datetime import date, timedelta

from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.engine.condition.weights import Mass
from eggtooth.engine.entries import Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.wording import say

MONTH_DAYS = 30.44
OVER = re.compile(
    r"quarantine\s*:?\s*(?:no\b|over|ended|done|passed|finished|clear)|\bno quarantine|\bnot in quarantine",
    re.I,
)
UNTIL = re.compile(r"quarantined?\D{0,12}?(?:until|till|to|ends)\D{0,4}(\d{4}-\d\d-\d\d)", re.I)
ARRIVED = re.compile(r"\b(?:arrived|arrival|acquired)\D{0,6}(\d{4}-\d\d-\d\d)", re.I)


def in_quarantine(animal: Animal, tub: Tub | None, seen: History, settings: Settings) -> str:
    """Why the animal is in quarantine, or an empty text.

    It is when its tub stands in a quarantine rack, when its note says so (`quarantine until DATE`), or within
    the quarantine days of an `arrived DATE` in its note.
    """
    if tub and tub.rack.upper() in {r.upper() for r in settings.quarantine_racks} | {"QUARANTINE"}:
        return say("in quarantine (rack {rack})", rack=tub.rack)
    if until := _date(UNTIL.search(animal.note)):
        return say("in quarantine until {until:%-d %b %Y}", until=until) if seen.on <= until else ""
    if (arrived := _date(ARRIVED.search(animal.note))) and not OVER.search(animal.note):
        until = arrived + timedelta(days=settings.quarantine_days)
        return say("in quarantine until {until:%-d %b %Y}", until=until) if arrived <= seen.on < until else ""
    if re.search("quarantine", animal.note, re.I) and not OVER.search(animal.note):
        return say("in quarantine (its note says so)")
    return ""


def not_ready(animal: Animal, seen: History, mass: Mass | None, settings: Settings) -> str:
    """Why an animal is too light or too young to breed, or an empty text. What is not known does not stop it.

    A female that has laid before is not held back by her age; one of at least 1,300 g already paired this
    season is the keeper's own choice and stays in.
    """
    male = animal.sex is Sex.MALE
    least = settings.male_least_g if male else settings.female_least_g
    floor = settings.male_floor_months if male else settings.female_floor_months
    age = animal.age_days(seen.on)
    if age is not None and age < floor * MONTH_DAYS and not seen.last(Kind.LAID):
        return say(
            "{age:.0f} months old; males breed from {floor:.0f} months"
            if male
            else "{age:.0f} months old; females breed from {floor:.0f} months",
            age=age / MONTH_DAYS,
            floor=floor,
        )
    if mass and mass.mass_g < least and not _kept_in_by_choice(seen, mass, male, settings):
        return say("{mass_g:.0f} g; the least here is {least:.0f} g", mass_g=mass.mass_g, least=least)
    return ""


def _kept_in_by_choice(seen: History, mass: Mass, male: bool, settings: Settings) -> bool:
    from eggtooth.engine.facts.biology import FEMALE_LIGHT_MASS

    paired = seen.first(Kind.PAIRED, settings.season_start(seen.on))
    return not male and paired is not None and mass.mass_g >= FEMALE_LIGHT_MASS.value


def _date(found: re.Match[str] | None) -> date | None:
    if not found:
        return None
    try:
        return date.fromisoformat(found[1])
    except ValueError:
        return None
