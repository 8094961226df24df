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
    """One animal's meals, sheds and clutches by ordinal day, and its rough mass."""

    level: Level
    meals: Sequence[Entry]
    meal_days: Sequence[int]
    shed_days: Sequence[int]
    laid_days: Sequence[int]
    first_weighed: int | None

    @classmethod
    def of(cls, seen: History, level: Level) -> Fed:
        """Gather once what every step asks for."""
        meals = seen.all(Kind.MEAL)
        first = seen.first(Kind.WEIGHT)
        return cls(
            level,
            meals,
            [e.on.toordinal() for e in meals],
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
        food, unknown, covered = 0.0, on - before, before
        for i in range(bisect_left(self.meal_days, before), bisect_left(self.meal_days, on)):
            day = self.meal_days[i]
            if self.meals[i].value:
                at = self.level.at(day)
                food += grams_eaten(self.meals[i], math.exp(at)) / math.exp(at) * worth_of(at)
            upto = min(day + NOTED_FOR_DAYS, on)
            unknown -= max(0, upto - max(covered, day))
            covered = max(covered, upto)
        return food, unknown

    def _by_ration(self, before: int, on: int, unknown: int) -> tuple[float, float]:
        """What the usual ration gives over the unnoted days, and the upkeep over all days."""
        days = on - before
        if days <= 0:
            return 0.0, 0.0
        pieces = -(-days // COARSE_DAYS)
        at = [self.level.at(before + (2 * i + 1) * days // (2 * pieces)) for i in range(pieces)]
        food = sum(usual_food(x) for x in at) / pieces * unknown if unknown > 0 else 0.0
        return food, -sum(upkeep(x) for x in at) / pieces * days

    def gut(self, on: int) -> float:
        """Log surplus of gut content at a weighing; a meal noted the same day counts half."""
        share = 0.0
        mass_g = math.exp(self.level.at(on))
        for i in range(bisect_left(self.meal_days, on - IN_GUT_DAYS), bisect_right(self.meal_days, on)):
            share += gut_share(self.meals[i], date.fromordinal(on), mass_g)
        return math.log1p(share)

    def sheds_soon(self, on: int) -> bool:
        """Whether it shed within a week after a day."""
        k = bisect_left(self.shed_days, on)
        return k < len(self.shed_days) and self.shed_days[k] <= on + 7
