"""When young may breed: seasons from hatching to the first pairing of a son or daughter, and of founders."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.facts import biology
from eggtooth.engine.house import MonthDay, Settings, latest

DAYS_A_MONTH = 365.25 / 12


@dataclass(frozen=True, slots=True)
class Timetable:
    """Seasons are counted from 1, the next one a pair can still be put together for.

    `sons_after` and `daughters_after`: seasons from the one an animal hatches in to its first pairing.
    `first_year` is the year in which the eggs of season 1 hatch.
    """

    seasons: int
    sons_after: int
    daughters_after: int
    first_year: int

    def after(self, sex: Sex) -> int:
        """Seasons from hatching to breeding of that sex."""
        return self.sons_after if sex is Sex.MALE else self.daughters_after

    def year(self, season: int) -> int:
        """Year in which the eggs of a season hatch."""
        return self.first_year + season - 1


def timetable(
    on: date,
    seasons: int,
    settings: Settings,
    sons_after: int | None = None,
    daughters_after: int | None = None,
) -> Timetable:
    """The timetable as seen on a day. Raises `ValueError` for no seasons, or young that breed at once.

    Young of usual hatching date (facts) breed in the first season in which they pass the house's age floor
    before pairing closes. Males floor at 9 months and females at 18, so a son may breed late in the season
    after his own and a daughter in the second; a keeper who waits for mass names more seasons.
    """
    sons = _after(settings.male_floor_months, settings) if sons_after is None else sons_after
    daughters = _after(settings.female_floor_months, settings) if daughters_after is None else daughters_after
    if seasons < 1 or sons < 1 or daughters < 1:
        raise ValueError(
            "seasons are counted from 1, and young breed one season after hatching at the earliest"
        )
    return Timetable(seasons, sons, daughters, first_season_closes(on, settings).year)


def first_season_closes(on: date, settings: Settings) -> date:
    """Last pairing day of the next season a plan can count on.

    Past the usual day of ovulation (facts) the running season is too far gone.
    """
    start = settings.season_start(on)
    usual = biology.LAYING_SEASON.value - biology.OVULATION_TO_LAID.value
    too_late = on > start + timedelta(days=usual)
    return _next(settings.season_closes, _next(settings.year_turns, on + timedelta(1)) if too_late else start)


def breeds_from(animal: Animal, times: Timetable, on: date, settings: Settings) -> int:
    """First season an animal here can be paired in; 1 when its age is not known."""
    if animal.hatched is None:
        return 1
    floor = settings.male_floor_months if animal.sex is Sex.MALE else settings.female_floor_months
    of_age = animal.hatched + timedelta(days=floor * DAYS_A_MONTH)
    closes, season = first_season_closes(on, settings), 1
    while of_age > closes:
        closes, season = _next(settings.season_closes, closes + timedelta(1)), season + 1
    return season


def _after(floor_months: float, settings: Settings) -> int:
    """Seasons from the one an animal hatches in until it passes the floor before pairing closes."""
    start = date(2001, *settings.year_turns)
    incubated = biology.INCUBATION_AT_31_5.value
    hatched = start + timedelta(days=biology.LAYING_SEASON.value + incubated)
    of_age = hatched + timedelta(days=floor_months * DAYS_A_MONTH)
    closes, season = _next(settings.season_closes, hatched + timedelta(1)), 1
    while of_age > closes:
        closes, season = _next(settings.season_closes, closes + timedelta(1)), season + 1
    return season


def _next(day: MonthDay, start: date) -> date:
    """First date from `start` on with this month and day."""
    before: Callable[[date], date] = lambda d: latest(day, d)  # noqa: E731
    return start if before(start) == start else before(start + timedelta(days=366))
