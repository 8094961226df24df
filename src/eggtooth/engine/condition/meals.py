"""When an animal is due a meal and how much: interval and prey by body mass and by the season."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from eggtooth.engine.condition.weights import Mass
from eggtooth.engine.entries import Entry, Kind, Prey
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.spans import ago
from eggtooth.engine.wording import say


class Diet(StrEnum):
    """How an animal is fed at this time of the year."""

    FEMALE_IN_SEASON = "female in season"
    MALE_IN_SEASON = "male in season"
    ADULT = "adult"
    YOUNG = "young"
    HATCHLING = "hatchling"


INTERVAL = {
    Diet.MALE_IN_SEASON: biology.MALE_SEASON_INTERVAL.value,
    Diet.ADULT: biology.ADULT_INTERVAL.value,
    Diet.YOUNG: biology.YOUNG_INTERVAL.value,
    Diet.HATCHLING: biology.HATCHLING_INTERVAL.value,
}


MALE_SEASON_G = 60.0


@dataclass(frozen=True, slots=True)
class Meal:
    """A meal due: the day it fell due, what to offer, why, and the entries behind it.

    `prey` is the prey to offer by its trade name, empty where no weight tells it.
    """

    due: date
    offer: str
    why: str
    entries: tuple[Entry, ...]
    prey: str = ""


def diet_of(mass: Mass | None, age_days: int | None, in_season: bool, male: bool) -> Diet:
    """How to feed an animal, from its mass, age and whether it is breeding now."""
    if in_season:
        return Diet.MALE_IN_SEASON if male else Diet.FEMALE_IN_SEASON
    if (mass and mass.mass_g < 150) or (mass is None and age_days is not None and age_days < 120):
        return Diet.HATCHLING
    young = (mass and mass.mass_g < 1000) if mass else (age_days is not None and age_days < 700)
    return Diet.YOUNG if young and not (male and mass and mass.mass_g >= 500) else Diet.ADULT


def meal_due(seen: History, diet: Diet, mass: Mass | None, female_days: float) -> Meal:
    """The next meal from the last one offered, taken or not; due at once when none is noted."""
    every = interval_days(diet, female_days)
    last = seen.last(Kind.MEAL)
    offer, prey = offer_for(diet, mass), prey_for(diet, mass)
    if last is None:
        return Meal(seen.on, offer, say("no meal noted yet"), (), prey)
    word = say("ate {ago}" if (last.value or 0) > 0 else "refused {ago}", ago=ago(last.since(seen.on)))
    why = say(
        "{word}; {diet}: every {every:g} days (common practice)",
        word=word,
        diet=diet,
        every=every,
    )
    refused = len(seen.refusals())
    if refused > 1:
        why = say("refused {refused} times since the last meal taken; {why}", refused=refused, why=why)
    if every < biology.LARGE_PREY_INTERVAL.value and was_large(last, mass):
        every = biology.LARGE_PREY_INTERVAL.value
        why = say(
            "{word}; a large meal takes {every:g} days (Ott & Secor 2007)",
            word=word,
            every=every,
        )
    return Meal(last.on + timedelta(days=every), offer, why, (last,), prey)


def was_large(meal: Entry, mass: Mass | None) -> bool:
    """Whether a meal, where its grams were noted, was more than 15 % of the body."""
    each_g = meal.detail.each_g if isinstance(meal.detail, Prey) else None
    return bool(mass and each_g and (meal.value or 0) * each_g > 0.15 * mass.mass_g)


def offer_for(diet: Diet, mass: Mass | None) -> str:
    """What to put in the tub, in the trade's sizes; as much as she takes for a female in the season."""
    if mass is None:
        return say("prey as wide as its widest part")
    grams = prey_grams(diet, mass.mass_g)
    size = prey_size(grams)
    if diet is Diet.FEMALE_IN_SEASON:
        return say(
            "{size}, about {grams:.0f} g each, two or three, as many as she takes", size=size, grams=grams
        )
    if diet is Diet.MALE_IN_SEASON:
        return say("{size}, about {grams:.0f} g, just enough to hold his mass", size=size, grams=grams)
    return say("{size}, about {grams:.0f} g", size=size, grams=grams)


def prey_for(diet: Diet, mass: Mass | None) -> str:
    """The one prey that a meal noted without a word is taken to have been; empty where no weight tells it.

    Of the prey that the size offered names (`adult mouse or rat pup`), the one of the nearest usual mass.
    """
    if mass is None:
        return ""
    grams = prey_grams(diet, mass.mass_g)
    words = set(prey_size(grams).split())
    usual = {name: g for name, g in biology.PREY_TYPICAL_G.items() if set(name.split()) <= words}
    return min(usual, key=lambda name: abs(math.log(usual[name] / grams)))


def prey_grams(diet: Diet, mass_g: float) -> float:
    """Mass of one prey item: a share of the body that falls with mass; little for a breeding male."""
    shares = ((500, biology.HATCHLING_SHARE), (1000, biology.YOUNG_SHARE))
    share = next((s for below, s in shares if mass_g < below), biology.ADULT_SHARE)
    grams = mass_g * share.value / 100
    if diet is Diet.FEMALE_IN_SEASON:
        return min(grams, biology.MEDIUM_RAT.value)
    return min(grams, MALE_SEASON_G) if diet is Diet.MALE_IN_SEASON else grams


def interval_days(diet: Diet, female_days: float) -> float:
    """Days between meals on a diet; `female_days` is the keeper's own for females in the season."""
    return female_days if diet is Diet.FEMALE_IN_SEASON else INTERVAL[diet]


def prey_size(grams: float) -> str:
    """The trade's name for prey of this mass."""
    return next((name for most, name in biology.PREY_G if grams <= most), biology.PREY_G[-1][1])


def fed_on(seen: History, day: date) -> Entry | None:
    """A meal taken on this very day."""
    last = seen.last_meal()
    return last if last and last.on == day else None
