"""The rates a season runs by: what the facts say of all females, or what a house has learned of its own."""

from __future__ import annotations

import json
import math
from dataclasses import asdict, dataclass, fields
from typing import Any, NamedTuple

from eggtooth.engine.facts import Fact, LogNormal, Normal, biology


class Trait(NamedTuple):
    """A normal spread between female-seasons; when `log`, of the logarithm, and `mean` is the log median."""

    mean: float
    sd: float
    log: bool = False

    @property
    def centre(self) -> float:
        """The median in the trait's own unit."""
        return math.exp(self.mean) if self.log else self.mean

    def at(self, z: float) -> float:
        """The trait `z` standard deviations from its median, in its own unit."""
        raw = self.mean + z * self.sd
        return math.exp(raw) if self.log else raw


def trait_of(fact: Fact) -> Trait:
    """The spread of a fact as a trait. Raises `TypeError` unless it is normal or log-normal."""
    match fact.spread:
        case Normal(mean, sd):
            return Trait(mean, sd)
        case LogNormal(median, _):
            return Trait(math.log(median), fact.spread.sigma, log=True)
    raise TypeError(f"fact {fact.name!r} is not a normal or log-normal quantity")


SLOW = trait_of(biology.SLOW_GROWTH)
FAST = trait_of(biology.FAST_GROWTH)
TURN = trait_of(biology.HINGE)
OVULATION_MM = trait_of(biology.OVULATION_AT)
SHED = trait_of(biology.OVULATION_TO_SHED)
LAY = trait_of(biology.SHED_TO_LAID)
WHOLE = trait_of(biology.OVULATION_TO_LAID)


def _starts() -> Trait:
    """Day of the breeding year a follicle reaches 12 mm: the laying season less the days from 12 mm to eggs.

    The spread is the laying season's with that of growth taken out.
    """
    slow_days = (TURN.mean - biology.PAIRING_FROM.value) / SLOW.centre
    fast_days = (OVULATION_MM.mean - TURN.mean) / FAST.centre
    growth_sd = math.hypot(SLOW.sd * slow_days, FAST.sd * fast_days, TURN.sd / SLOW.centre / 1.5, WHOLE.sd)
    laying = trait_of(biology.LAYING_SEASON)
    mean = laying.mean - WHOLE.mean - fast_days - slow_days
    return Trait(mean, math.sqrt(laying.sd**2 - growth_sd**2))


STARTS = _starts()


BENDS_MM = (2.5, 4.0, 6.5)
"""How softly growth may turn from slow to fast in a house: the standard deviation, in diameter, of the normal
distribution function it follows (our choice; common practice tells of a turn, not how sharp)."""

USUAL_BEND_MM = BENDS_MM[1]
"""How it is taken to turn where nothing tells otherwise."""


CHANCES = ("never", "small", "small_alone", "large", "ovulation_noted", "shed_noted", "laid_noted")


@dataclass(frozen=True, slots=True)
class Rates:
    """Spreads between female-seasons, and shares of what becomes of a season.

    `starts` is the season day (days after the breeding year turned) on which she reaches 12 mm; `slow` and
    `fast` in mm a day from 12 to 25 mm and from 25 to 44 mm; `turn` in mm; `shed` and `lay` in days;
    `whole_sd` days of spread from ovulation to eggs, `ovulation_sd` mm of the size at ovulation. `bend_mm`,
    one of `BENDS_MM`, is common to the house. `never`,
    `small`, `small_alone`, `large` are chances that no follicle grows, that they are reabsorbed below 20 mm
    (with and without a male) and from 20 mm on; `ovulation_noted` and so on chances that a milestone is noted
    by a house that goes on noting things of her (our choice). `seasons`: how many fully seen finished
    seasons of the house they rest on, none for the facts' own.
    """

    starts: Trait = STARTS
    slow: Trait = SLOW
    fast: Trait = FAST
    turn: Trait = TURN
    shed: Trait = SHED
    lay: Trait = LAY
    whole_sd: float = WHOLE.sd
    ovulation_sd: float = OVULATION_MM.sd
    bend_mm: float = USUAL_BEND_MM
    never: float = biology.NEVER_STARTS.value
    small: float = 0.155
    small_alone: float = 0.82
    large: float = 0.11
    ovulation_noted: float = 0.4
    shed_noted: float = 0.7
    laid_noted: float = 0.9
    seasons: float = 0.0

    def __post_init__(self) -> None:
        """Refuse spreads and shares that cannot be."""
        for f in fields(self):
            value, usual = getattr(self, f.name), f.default
            if isinstance(value, Trait) is not isinstance(usual, Trait):
                raise ValueError(f"{f.name} cannot be {value!r}; it is like {usual!r}")
            if isinstance(value, Trait) and not value.sd > 0:
                raise ValueError(f"{f.name} needs a spread above zero, not {value.sd}")
        for name in CHANCES:
            if not 0 < getattr(self, name) < 1:
                raise ValueError(f"{name} is a chance between 0 and 1, not {getattr(self, name)}")
        if self.bend_mm not in BENDS_MM:
            raise ValueError(f"bend_mm is one of {BENDS_MM}, not {self.bend_mm}")
        if not self.seasons >= 0:
            raise ValueError(f"rates rest on seasons, none or more, not {self.seasons}")

    def lays(self, with_male: float) -> float:
        """Chance that a female lays, `with_male` being the chance that she meets a male in time."""
        small = with_male * self.small + (1 - with_male) * self.small_alone
        return (1 - self.never) * (1 - small) * (1 - self.large)


def written(rates: Rates) -> str:
    """Rates as one line of json, as they are kept in the house's settings."""
    return json.dumps(asdict(rates), separators=(",", ":"))


def read(text: str) -> Rates:
    """Rates from that line; empty text gives the facts' own. Raises `ValueError` on anything else."""
    if not text:
        return PRIOR
    try:
        said: dict[str, Any] = dict(json.loads(text).items())
        parts: dict[str, Any] = {k: Trait(*v) if isinstance(v, list) else float(v) for k, v in said.items()}
        return Rates(**parts)
    except (TypeError, AttributeError, json.JSONDecodeError) as wrong:
        raise ValueError(f"not rates of a season: {text[:60]!r} ({wrong})") from None


PRIOR = Rates()
"""The facts' own spreads. `small`, `small_alone` and `large` are drawn in from 2/8, 6/7 (DeNardo & Autumn
2001) and 1.5/10, so that with a male the share lays that the facts tell (0.7, our choice)."""

MEETS_A_MALE = 0.5
"""Chance that a female with no pairing noted yet will meet a male in time (our choice)."""

PRIOR_SEASONS = 4.0
"""Finished seasons the facts' centres weigh as much as (our choice)."""

YEARS_DIFFER_DAYS = 7.0
"""How far the whole house starts earlier or later from one year to the next (our choice)."""

PERSISTS = 0.6
"""Share of the variance of a trait that is the female's own over the years (our choice)."""
