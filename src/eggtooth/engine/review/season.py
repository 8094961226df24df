"""One season looked back on: dates, chances, numbers and males."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.cycle.prior import PRIOR, Rates
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.clutches import house_on
from eggtooth.engine.planning.warmed import warmed
from eggtooth.engine.review.chances import Chance, chances_of_laying
from eggtooth.engine.review.dates import Tally, Told, before_eggs, incubating, tallied
from eggtooth.engine.review.males import Males, males_of
from eggtooth.engine.review.numbers import Number, Score, hatch_counts, masses, scored


@dataclass(frozen=True, slots=True)
class Review:
    """One season's forecasts: every one told, and how they did.

    `told` and `tallies` are of dates; `chances` of laying; `numbers` and `scores` of masses and hatchlings;
    `males` how their rest went.
    """

    start: date
    end: date
    told: tuple[Told, ...]
    tallies: tuple[Tally, ...]
    chances: tuple[Chance, ...]
    numbers: tuple[Number, ...]
    scores: tuple[Score, ...]
    males: Males


def review_of(
    colony: Colony, on: date, settings: Settings, *, this_season: bool = False, rates: Rates = PRIOR
) -> Review:
    """The last finished season, or the one `on` lies in; each forecast is worked out anew.

    Dates are told every two weeks, chances every four, masses every thirteen, from the entries of then, with
    `rates`: those of the facts, for a house's own may have been learned from this very season. Entries count
    from their own date. Whether a female lays is scored when the season is over. Cost: about 4 ms a female
    and forecast, and 2 ms an animal and mass forecast.
    """
    turn = settings.season_start(on)
    start = turn if this_season else settings.season_start(turn - timedelta(days=1))
    end = on if this_season else turn - timedelta(days=1)
    known = colony.as_of(on)
    females = [a for a in known.animals.values() if a.sex is Sex.FEMALE]
    house = house_on(colony.as_of(start), start, settings)
    told = [*before_eggs(known, females, start, end, settings, rates)]
    numbers = [*masses(known, start, end)]
    boxes = cache(lambda day: warmed(known, day, settings))
    for animal in females:
        told += incubating(known, animal.tag, start, end, boxes, house)
        numbers += hatch_counts(known, animal.tag, start, end, boxes)
    rests, males = males_of(known, start, end, settings)
    told += rests
    chances = () if this_season else tuple(chances_of_laying(known, start, end, settings, rates))
    return Review(
        start, end, tuple(told), tuple(tallied(told)), chances, tuple(numbers), tuple(scored(numbers)), males
    )
