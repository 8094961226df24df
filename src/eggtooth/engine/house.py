"""The keeper's own settings: nights, season, gates and limits; each default is common practice."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from eggtooth.engine.facts import biology
from eggtooth.engine.wording import say

MonthDay = tuple[int, int]

DAYS = (
    say("Monday"),
    say("Tuesday"),
    say("Wednesday"),
    say("Thursday"),
    say("Friday"),
    say("Saturday"),
    say("Sunday"),
)


@dataclass(frozen=True, slots=True)
class Settings:
    """Settings of one house. Weekdays count from Monday = 0; days of the year are (month, day).

    `learned_rates` is what the house learned of its females' seasons and chose, as `cycle.prior` writes
    it; empty stands for the facts. `season_plan` is the plan of pairs the keeper goes by, as
    `planning.wanted` writes it; empty stands for none; it holds until the end
    of `season_plan_until` (an ISO date), or for good where that is empty. `presence_weight` is how far the
    belief is followed that a male's presence starts a female or keeps her going (0 not at all, 1 as seen in
    blood pythons); `night_cost` is what a night must add to a clutch's worth, as a share of the usual
    pair's, for a male to be carried (our choice).

    Raises `ValueError` when a value cannot be: a weekday of 9, 31 November, a limit below zero.
    """

    pairing_nights: tuple[int, ...] = (0, 1, 2, 3)
    presence_weight: float = 0.5
    night_cost: float = 0.005
    year_turns: MonthDay = (9, 1)
    season_opens: MonthDay = (11, 15)
    season_closes: MonthDay = (5, 31)
    cool_from: MonthDay = (11, 15)
    warm_from: MonthDay = (2, 1)
    night_drop_c: float = biology.NIGHT_DROP.value
    male_least_g: float = biology.MALE_LEAST_MASS.value
    male_best_g: float = biology.MALE_BEST_MASS.value
    female_least_g: float = biology.FEMALE_USUAL_MASS.value
    male_floor_months: float = biology.MALE_AGE_FLOOR.value
    female_floor_months: float = biology.FEMALE_AGE_FLOOR.value
    male_rest_days: float = biology.MALE_REST_FROM.value
    male_rest_days_latest: float = biology.MALE_REST_LATEST.value
    loss_worry_percent: float = biology.LOSS_WORRY.value
    loss_dramatic_percent: float = biology.LOSS_DRAMATIC.value
    female_meal_days: float = biology.FEMALE_SEASON_INTERVAL.value
    females_a_male: float = biology.FEMALES_A_SEASON.value
    kinship_limit: float = biology.KINSHIP_LIMIT.value
    quarantine_days: float = biology.QUARANTINE.value
    quarantine_racks: tuple[str, ...] = ("Q",)
    incubator_c: float = biology.INCUBATOR_TARGET.value
    fahrenheit: bool = False
    learned_rates: str = ""
    season_plan: str = ""
    season_plan_until: str = ""

    def __post_init__(self) -> None:
        """Refuse what no calendar and no house can have."""
        if not set(self.pairing_nights) <= set(range(7)):
            raise ValueError(
                f"pairing nights are weekdays 0 (Monday) to 6 (Sunday), not {self.pairing_nights}"
            )
        for name in ("year_turns", "season_opens", "season_closes", "cool_from", "warm_from"):
            month, day = getattr(self, name)
            date(2025, month, day)
        if self.season_plan_until:
            date.fromisoformat(self.season_plan_until)
        for name in self.__slots__:
            value = getattr(self, name)
            if isinstance(value, float) and not 0 <= value < 100_000:
                raise ValueError(f"{name} cannot be {value}")

    def warmth(self, celsius: float) -> str:
        """A temperature in the unit this house reads, to a tenth."""
        return _degrees(celsius * 1.8 + 32 if self.fahrenheit else celsius, self.fahrenheit)

    def warmer(self, celsius: float) -> str:
        """A difference of temperatures in the unit this house reads, to a tenth."""
        return _degrees(celsius * 1.8 if self.fahrenheit else celsius, self.fahrenheit)

    def season_start(self, on: date) -> date:
        """First day of the breeding year that `on` lies in."""
        return latest(self.year_turns, on)

    def season_open(self, on: date) -> bool:
        """Whether males may go in at all at this time of the year."""
        opened = latest(self.season_opens, on)
        closed = latest(self.season_closes, on)
        return opened > closed or on == closed

    def season_end(self, on: date) -> date:
        """The last day of the season that `on` lies in, or before which it lies."""
        closed = latest(self.season_closes, on)
        return closed if closed == on else latest(self.season_closes, closed + timedelta(days=366))

    def plan_on(self, on: date) -> str:
        """The plan the house goes by on a day; empty when there is none or it has ended."""
        ended = self.season_plan_until and on > date.fromisoformat(self.season_plan_until)
        return "" if ended else self.season_plan

    def pairing_night(self, on: date) -> bool:
        """Whether males go in, or stay in, tonight."""
        return self.season_open(on) and on.weekday() in self.pairing_nights

    def cool(self, on: date) -> bool:
        """Whether nights are kept cooler at this time of the year."""
        return latest(self.cool_from, on) > latest(self.warm_from, on)


def latest(day: MonthDay, on: date) -> date:
    """The latest date not after `on` with this month and day."""
    this_year = date(on.year, *day)
    return this_year if this_year <= on else date(on.year - 1, *day)


def _degrees(value: float, fahrenheit: bool) -> str:
    return say("{degrees:g} °F" if fahrenheit else "{degrees:g} °C", degrees=round(value, 1))
