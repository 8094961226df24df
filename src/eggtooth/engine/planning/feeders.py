"""How many prey of each size the house needs in the weeks to come, with the spread.

Each animal's offers are independent of the others', so the number of a size in a week is the sum of small
independent counts; its distribution is found exactly by convolution.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from eggtooth.engine.colony import Colony
from eggtooth.engine.condition.appetite import Eats, appetite_of
from eggtooth.engine.condition.growing import Fan, fan, growing
from eggtooth.engine.condition.growth import Floats
from eggtooth.engine.condition.meals import Diet, interval_days, meal_due, prey_grams, prey_size
from eggtooth.engine.cycle.season import Stage
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.diets import diet_now
from eggtooth.engine.planning.occupants import Occupant, room_on

AFTER_LAYING_DAYS = 7
TWO_OR_THREE = (0.0, 0.0, 0.5, 0.5)
ONE = (0.0, 1.0)
SKIPPED = 0.08
"""Offers that fall out, for a shed, a male on a visit or no time (our choice)."""
OFF_FOOD_SKIPPED = 0.5
"""The same for an animal off food: it is offered less often (our choice)."""

Counts = Sequence[float]


@dataclass(frozen=True, slots=True)
class Need:
    """Prey of one size needed in one week: the 5, 50 and 95 % number and the mean."""

    week: date
    prey: str
    q05: int
    q50: int
    q95: int
    mean: float


def feeder_order(
    colony: Colony, on: date, settings: Settings, weeks: int = 6, kept: Kept | None = None
) -> list[Need]:
    """Prey needed by week and size, weeks counted from `on`. Raises `ValueError` for no week or over a year.

    Prey sizes follow each animal's growth. Cost: animals x weeks, plus one convolution each.
    """
    if not 1 <= weeks <= 52:
        raise ValueError(f"the order looks 1 to 52 weeks ahead, not {weeks}")
    kept = kept or Kept()
    room = room_on(colony, on, settings, kept=kept)

    def needs(tags: list[str]) -> list[list[tuple[int, str, Counts]]]:
        some = [room[tag] for tag in tags]
        ahead = fan(growing([o.animal for o in some], [o.seen for o in some], on), 7 * weeks)
        return [_needs(o, ahead, row, on, settings, weeks) for row, o in enumerate(some)]

    wanted: defaultdict[tuple[int, str], list[Counts]] = defaultdict(list)
    for needed in kept.each(f"prey for {weeks} weeks", {tag: (o,) for tag, o in room.items()}, needs):
        for week, prey, counts in needed:
            wanted[week, prey].append(counts)
    return [_need(on, week, prey, counts) for (week, prey), counts in sorted(wanted.items(), key=_by_size)]


def _by_size(item: tuple[tuple[int, str], object]) -> tuple[int, int]:
    from eggtooth.engine.facts.biology import PREY_G

    (week, prey), _ = item
    return week, next(i for i, (_, name) in enumerate(PREY_G) if name == prey)


def _needs(
    occupant: Occupant, ahead: Fan, row: int, on: date, settings: Settings, weeks: int
) -> list[tuple[int, str, Counts]]:
    """One animal's (week, prey, chance of each number)."""
    diet = diet_now(occupant, on, settings)
    due = meal_due(occupant.seen, diet, occupant.mass, settings.female_meal_days).due
    first = max(on, due, _fasts_until(occupant, on) or on)
    every = interval_days(diet, settings.female_meal_days)
    each = np.array(TWO_OR_THREE if diet is Diet.FEMALE_IN_SEASON else ONE)
    skipped = OFF_FOOD_SKIPPED if appetite_of(occupant.seen).eats is Eats.OFF_FOOD else SKIPPED
    offer = (1 - skipped) * each
    offer[0] += skipped
    found = []
    for week, offers in offers_by_week((first - on).days, every, weeks).items():
        mass_g = float(np.exp(ahead.log_mass[row, week]))
        found.append((week, prey_size(prey_grams(diet, mass_g)), _several(offer, offers)))
    return found


def _fasts_until(occupant: Occupant, on: date) -> date | None:
    """The end of a female's fast from ovulation to a week after her eggs."""
    season = occupant.season
    if season is None or season.laid is None:
        return None
    if season.stage in (Stage.OVULATED, Stage.SHED, Stage.LAID):
        return season.laid.q50 + timedelta(days=AFTER_LAYING_DAYS)
    return None


def offers_by_week(first_day: int, every: float, weeks: int) -> Mapping[int, Mapping[int, float]]:
    """Chance of each number of offers, by week, when one is due in `first_day` days and then every `every`.

    In the week of the first, offers fall on their days; by the next, days have slipped, so that a week holds
    the mean number, rounded up or down by chance.
    """
    found: dict[int, dict[int, float]] = {}
    for week in range(weeks):
        open_from = first_day if week == first_day // 7 else 7 * week
        if 7 * (week + 1) <= first_day:
            continue
        days = 7 * (week + 1) - max(open_from, first_day)
        exact = week == first_day // 7
        mean = 1 + (days - 1) // every if exact else days / every
        low = int(mean)
        found[week] = {low: low + 1 - mean, low + 1: mean - low}
    return found


def _several(offer: Floats, times: Mapping[int, float]) -> Counts:
    """Chance of each number of items over a random number of offers."""
    most = max(times) * (len(offer) - 1) + 1
    total = np.zeros(most)
    for n, p in times.items():
        counts = np.ones(1)
        for _ in range(n):
            counts = np.convolve(counts, offer)
        total[: len(counts)] += p * counts
    return [float(x) for x in total]


def _need(on: date, week: int, prey: str, counts: Sequence[Counts]) -> Need:
    total = summed(counts)
    upto = np.cumsum(total)
    q05, q50, q95 = (int(np.searchsorted(upto, p - 1e-12)) for p in (0.05, 0.5, 0.95))
    mean = float(total @ np.arange(len(total)))
    return Need(on + timedelta(days=7 * week), prey, q05, q50, q95, mean)


def summed(counts: Sequence[Counts]) -> Floats:
    """Distribution of the sum of independent counts: pairs joined first, then pairs of pairs."""
    level = [np.asarray(c, float) for c in counts]
    while len(level) > 1:
        joined = [np.convolve(a, b) for a, b in zip(level[::2], level[1::2], strict=False)]
        level = joined + ([level[-1]] if len(level) % 2 else [])
    return level[0]
