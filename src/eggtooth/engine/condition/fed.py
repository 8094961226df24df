"""What an animal ate between two days, as the growth model takes it: food, known change, added variance."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from eggtooth.engine.condition.intake import IN_GUT_DAYS, grams_eaten, gut_share, upkeep, usual_food, worth_of
from eggtooth.engine.condition.levels import Level
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History

NOTED_FOR_DAYS = 21
"""A meal noted, taken or refused, tells that notes were kept for this long after it (our choice)."""
UNKNOWN_FOOD_CV = 0.25
"""How far what was eaten while nothing was noted may lie from the usual ration (our choice)."""
FIRST_FOOD_CV = 0.4
"""The same from hatching to the first weighing: well fed young reach 600 g at eight months (our choice)."""
COARSE_DAYS = 30
CLUTCH_SD = 0.075


@dataclass(frozen=True, slots=True)
class Fed:
    """One animal's meals, sheds and clutches by ordinal day, and its rough mass.

    `food` is what each meal was, as a share of body mass times its worth.
    """

    level: Level
    meals: Sequence[Entry]
    meal_days: Sequence[int]
    food: Sequence[float]
    shed_days: Sequence[int]
    laid_days: Sequence[int]
    first_weighed: int | None

    @classmethod
    def of(cls, seen: History, level: Level) -> Fed:
        """Gather once what every step asks for."""
        meals = seen.all(Kind.MEAL)
        first = seen.first(Kind.WEIGHT)
        days = [e.on.toordinal() for e in meals]
        return cls(
            level,
            meals,
            days,
            [_food(e, at) if e.value else 0.0 for e, at in zip(meals, level.all_at(days), strict=True)],
            [e.on.toordinal() for e in seen.all(Kind.SHED)],
            [e.on.toordinal() for e in seen.all(Kind.LAID)],
            first.on.toordinal() if first else None,
        )

    def between(self, before: int, on: int) -> tuple[float, float, float]:
        """Food times its worth, known change of log mass and added variance from `before` to `on`."""
        food, unknown = self._noted(before, on)
        filled, drift = self._by_ration(before, on, unknown)
        unsure = FIRST_FOOD_CV if self.first_weighed == on else UNKNOWN_FOOD_CV
        jump = (unsure * biology.GROWTH_EFFICIENCY.value * filled) ** 2
        clutches = bisect_right(self.laid_days, on) - bisect_right(self.laid_days, before)
        drift += clutches * math.log(1 - biology.RELATIVE_CLUTCH_MASS.value)
        return food + filled, drift, jump + clutches * CLUTCH_SD**2

    def _noted(self, before: int, on: int) -> tuple[float, int]:
        """Food of the meals noted, and the days on which nobody noted any."""
        first, end = bisect_left(self.meal_days, before), bisect_left(self.meal_days, on)
        unknown, covered = on - before, before
        for day in self.meal_days[first:end]:
            upto = day + NOTED_FOR_DAYS
            if upto >= on:
                unknown -= max(0, on - max(covered, day))
                break
            unknown -= max(0, upto - max(covered, day))
            covered = max(covered, upto)
        return sum(self.food[first:end]), unknown

    def _by_ration(self, before: int, on: int, unknown: int) -> tuple[float, float]:
        """What the usual ration gives over the unnoted days, and the upkeep over all days."""
        days = on - before
        if days <= 0:
            return 0.0, 0.0
        if days <= COARSE_DAYS:
            at = self.level.at(before + days // 2)
            return usual_food(at) * unknown if unknown > 0 else 0.0, -upkeep(at) * days
        pieces = -(-days // COARSE_DAYS)
        levels = [self.level.at(before + (2 * i + 1) * days // (2 * pieces)) for i in range(pieces)]
        food = sum(map(usual_food, levels)) / pieces * unknown if unknown > 0 else 0.0
        return food, -sum(map(upkeep, levels)) / pieces * days

    def gut(self, on: int) -> float:
        """Log surplus of gut content at a weighing; a meal noted the same day counts half."""
        first, end = bisect_left(self.meal_days, on - IN_GUT_DAYS), bisect_right(self.meal_days, on)
        if first == end:
            return 0.0
        mass_g, day = math.exp(self.level.at(on)), date.fromordinal(on)
        return math.log1p(sum(gut_share(meal, day, mass_g) for meal in self.meals[first:end]))

    def sheds_soon(self, on: int) -> bool:
        """Whether it shed within a week after a day."""
        k = bisect_left(self.shed_days, on)
        return k < len(self.shed_days) and self.shed_days[k] <= on + 7


def _food(meal: Entry, level: float) -> float:
    mass_g = math.exp(level)
    return grams_eaten(meal, mass_g) / mass_g * worth_of(level)
