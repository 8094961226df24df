"""What an animal eats and what becomes of it: grams of prey, the usual ration, gain and loss of log mass."""

from __future__ import annotations

import math
import re
from bisect import bisect
from datetime import date
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from eggtooth.engine.entries import Entry, Prey
from eggtooth.engine.facts import biology

Floats = NDArray[np.floating[Any]]

_RATION_LOG_G = np.log([g for g, _ in biology.RATION_BY_MASS])
_RATION_LOG = np.log([percent / 100 for _, percent in biology.RATION_BY_MASS])
FASTING_PER_DAY = biology.FASTING_LOSS.varies.quantile(0.5) / 100
YOUNG_UP_TO_G = 150.0
YOUNG_UP_TO = math.log(YOUNG_UP_TO_G)
YOUNG_FASTING_PER_DAY = FASTING_PER_DAY * biology.YOUNG_FASTING_FACTOR.value
IN_GUT_DAYS = 8

SIZE_WORDS = (
    ("pink", "pinky"),
    ("fuzz", "fuzzy"),
    ("hopper", "hopper"),
    ("pup", "pup"),
    ("wean", "weaned"),
    ("small", "small"),
    ("medium", "medium"),
    ("large", "large"),
    ("jumbo", "jumbo"),
    ("adult", "adult"),
)


def ration_per_day(log_mass: ArrayLike) -> Floats:
    """Usual food per day as a share of body mass, by log mass in log grams. Any shape in, same shape out."""
    return np.asarray(np.exp(np.interp(np.asarray(log_mass, np.float64), _RATION_LOG_G, _RATION_LOG)))


def worth(log_mass: ArrayLike) -> Floats:
    """How much of the growth efficiency is left at a body mass: 1 / (1 + mass / 2200 g)."""
    return np.asarray(1 / (1 + np.exp(log_mass) / biology.HALF_GAIN_MASS.value), float)


def upkeep_per_day(log_mass: ArrayLike) -> Floats:
    """Log mass lost per day without food: 0.11 % a day (McCue 2007), half as much again below 150 g."""
    young = np.asarray(log_mass, float) < np.log(YOUNG_UP_TO_G)
    return FASTING_PER_DAY * np.where(young, biology.YOUNG_FASTING_FACTOR.value, 1.0)


def worth_of(log_mass: float) -> float:
    """`worth` of one animal."""
    return 1 / (1 + math.exp(log_mass) / biology.HALF_GAIN_MASS.value)


def upkeep(log_mass: float) -> float:
    """`upkeep_per_day` of one animal."""
    return YOUNG_FASTING_PER_DAY if log_mass < YOUNG_UP_TO else FASTING_PER_DAY


def usual_food(log_mass: float) -> float:
    """Ration times worth per day of one animal, from a table with steps of 1 % of mass."""
    low, table = _food_table()
    return table[min(len(table) - 1, max(0, round((log_mass - low) * 100)))]


@cache
def _food_table() -> tuple[float, tuple[float, ...]]:
    low = math.log(20)
    grid = np.arange(low, math.log(8000), 0.01)
    return low, tuple(map(float, ration_per_day(grid) * worth(grid)))


@cache
def usual_curve() -> tuple[tuple[float, ...], tuple[float, ...]]:
    """The usual growth from hatching: log mass by day over eight years, and summed food worth by day.

    The sum is of ration x worth over the days: times the efficiency it is the log mass gained. Loaded once.
    """
    log_mass, summed = [math.log(biology.HATCHLING_MASS.value)], [0.0]
    for _ in range(8 * 365):
        food = float(ration_per_day(log_mass[-1]) * worth(log_mass[-1]))
        summed.append(summed[-1] + food)
        gain = biology.GROWTH_EFFICIENCY.value * food - float(upkeep_per_day(log_mass[-1]))
        log_mass.append(log_mass[-1] + max(gain, 1e-9))
    return tuple(log_mass), tuple(summed)


def usual_later(log_mass: float, days: int) -> float:
    """Log mass some days on along the usual curve; an animal above the curve's end stays as it is."""
    curve, _ = usual_curve()
    at = bisect(curve, log_mass)
    if at >= len(curve):
        return log_mass
    return log_mass + curve[min(at + days, len(curve) - 1)] - curve[at]


def grams_eaten(meal: Entry, mass_g: float) -> float:
    """Grams taken at a meal: noted grams, else the usual mass of the prey named, else a usual share of body
    mass.
    """
    items = meal.value or 0.0
    if items <= 0:
        return 0.0
    prey = meal.detail if isinstance(meal.detail, Prey) else Prey(str(meal.detail or ""))
    each = prey.each_g or prey_typical_g(prey.text)
    return items * each if each else 7 * float(ration_per_day(math.log(mass_g))) * mass_g


def gut_share(meal: Entry, on: date, mass_g: float) -> float:
    """What of a meal still weighs in the gut on a day, as a share of body mass; half of one of the same day,
    since nobody notes which came first. Gone by day 6 to 8 (Ott & Secor 2007); that 0.7 of it is read is our
    choice.
    """
    days = meal.since(on)
    left = 0.5 if days == 0 else math.exp(-days / biology.GUT_EMPTIES.value)
    return 0.7 * left * grams_eaten(meal, mass_g) / mass_g


@cache
def prey_typical_g(text: str) -> float | None:
    """Usual mass of one prey item named in the trade's words; `None` when the words say nothing.

    Where the words leave a choice (`adult mouse or rat pup`), as the round's sizes do: of the prey of those
    names whose usual mass the size of that name allows, the mean on the log scale; else of all of them.
    """
    said = " ".join(text.lower().split())
    each = [g for words in _choice(said) if (g := _one_typical_g(words)) is not None]
    low, high = next((span for span, name in _SIZES_G if name in said), (0.0, math.inf))
    fitting = [g for g in each if low < g <= high] or each
    if len(set(fitting)) < 2:
        return fitting[0] if fitting else None
    return math.exp(sum(map(math.log, fitting)) / len(fitting))


_SIZES_G = tuple(
    ((low, high), str(name))
    for low, (high, name) in zip((0.0, *(g for g, _ in biology.PREY_G)), biology.PREY_G, strict=False)
    if " or " in name
)
"""The sizes of the round whose names leave a choice, each with the masses it is offered for."""


_ANIMALS = ("mouse", "rat", "mice", "rats")


def _choice(said: str) -> list[str]:
    """What the words leave the choice of: `mouse or rat fuzzy` is a mouse fuzzy or a rat fuzzy, and `small or
    medium rat` a small rat or a medium one.
    """
    first, *others = re.split(r"\s+or\s+|\s*/\s*", said)
    last = others[-1].split()[-1:] if others else []
    lone = first in _ANIMALS or first in (word for word, _ in SIZE_WORDS)
    return [" ".join([first, *last]) if lone else first, *others]


def _one_typical_g(said: str) -> float | None:
    animal = (
        "rat" if re.search(r"\brats?\b", said) else "mouse" if re.search(r"\bm(?:ouse|ice)\b", said) else ""
    )
    if not animal:
        animal = "mouse" if "hopper" in said else "rat" if "pup" in said else ""
    size = next((name for word, name in SIZE_WORDS if word in said), "")
    if animal == "mouse" and size not in ("pinky", "fuzzy", "hopper", "jumbo"):
        size = "adult"
    return next(
        (
            g
            for name, g in biology.PREY_TYPICAL_G.items()
            if animal and size and {animal, size} == set(name.split())
        ),
        None,
    )
