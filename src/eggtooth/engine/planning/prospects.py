"""Each animal's prospects for the season planned: whether it takes part, how many young, how many females."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from eggtooth.engine.colony import Sex
from eggtooth.engine.condition.fitness import Ready
from eggtooth.engine.condition.wear import Wear, WearState
from eggtooth.engine.cycle.forecast import Outlook
from eggtooth.engine.entries import Kind
from eggtooth.engine.facts import CHOICE, Fact, Normal, biology
from eggtooth.engine.genetics.clutches import spread_clutch
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings, latest
from eggtooth.engine.planning.occupants import Occupant
from eggtooth.engine.planning.rules import before_ovulation, out_of_quarantine
from eggtooth.engine.wording import joined, say

LEAST = 0.02
"""An animal with less chance than this of taking part is left out of the plan."""
BY_MASS_COUNTS = 2
"""Her mass counts as much as so many clutches of her own (our choice)."""
SURE = 0.995
"""From this chance on nothing is said of it."""
STEP = 0.5
"""Clutch sizes are told apart by half an egg."""
Counts = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Prospect:
    """One animal: the chance `p` that it takes part (a female: ready and lays; a male: ready), for a female
    the chance of each number of hatchlings given that she lays, for a male how many females he may serve."""

    tag: str
    p: float
    why: str
    hatchlings: Counts = ()
    room: int = 0
    locked: tuple[str, ...] = ()
    """Males a female has locked with in the season planned."""

    @property
    def mean(self) -> float:
        """Hatchlings of a clutch, on average."""
        return math.fsum(m * p for m, p in enumerate(self.hatchlings))


@dataclass(frozen=True, slots=True)
class Prospects:
    """Who takes part, in walking order, and why the others do not."""

    males: tuple[Prospect, ...]
    females: tuple[Prospect, ...]
    out: tuple[tuple[str, str], ...]


def this_season(settings: Settings, on: date) -> bool:
    """Whether the season planned is the one of the running breeding year; once it has closed, it is the
    next."""
    return latest(settings.season_closes, on) < settings.season_start(on) or on == latest(
        settings.season_closes, on
    )


def prospects(
    room: Mapping[str, Occupant],
    ready: Sequence[Ready],
    outlooks: Mapping[str, Outlook],
    settings: Settings,
    on: date,
) -> Prospects:
    """The prospects of every animal with a sex in the room. `outlooks` by tag, of females in season."""
    males: list[Prospect] = []
    females: list[Prospect] = []
    out: list[tuple[str, str]] = []
    for r in ready:
        o = room[r.tag]
        why = _left_out(o, settings, on)
        if why:
            out.append((r.tag, why))
            continue
        male = r.sex is Sex.MALE
        one = _male(o, r, settings, on) if male else _female(o, r, outlooks.get(r.tag), settings, on)
        if one.p >= LEAST:
            (males if male else females).append(one)
        else:
            why = joined("; ", filter(None, (r.why, one.why)))
            out.append((r.tag, say("hardly to be counted on this season: {why}", why=why)))
    return Prospects(tuple(males), tuple(females), tuple(out))


def _left_out(o: Occupant, settings: Settings, on: date) -> str:
    """What keeps an animal out of the season altogether."""
    if why := out_of_quarantine(o):
        return why
    if not this_season(settings, on):
        return ""
    if o.wear and o.wear.state in (WearState.REST, WearState.RESTING):
        return o.wear.why
    return before_ovulation(o)


def _ready_chance(r: Ready, settings: Settings, on: date) -> float:
    """By the last useful day, if that lies in the season planned; late in a season, as it is now."""
    if not this_season(settings, on):
        return r.p_by
    ends = settings.season_start(on).replace(year=settings.season_start(on).year + 1)
    return r.p_by if r.by < ends else r.p_now


def _male(o: Occupant, r: Ready, settings: Settings, on: date) -> Prospect:
    p = _ready_chance(r, settings, on)
    room = females_for(o.wear if this_season(settings, on) else None, settings, on)
    fit = "" if p >= SURE else say("{p:.0f} of 100 that he is fit in time", p=100 * p)
    return Prospect(r.tag, p, fit, room=room)


def females_for(wear: Wear | None, settings: Settings, on: date) -> int:
    """Females one male may serve: the house's figure, less when part of his season is behind him.

    A whole season is the days until males stop eating and the fewest days after that until he rests.
    """
    whole = biology.MALE_STOPS_EATING.value + settings.male_rest_days
    by = wear.rest_by if wear else None
    share = 1.0 if by is None else min(1.0, max(0.0, (by[1] - on).days / whole))
    most = int(settings.females_a_male)
    return min(most, max(1, round(most * share))) if share > 0 else 0


def _female(o: Occupant, r: Ready, outlook: Outlook | None, settings: Settings, on: date) -> Prospect:
    p_ready = _ready_chance(r, settings, on)
    p_lays = biology.LAYS.value
    if outlook and this_season(settings, on):
        p_lays = outlook.p_lays
        p_ready = max(p_ready, outlook.stages["growing"] + outlook.stages["building"])
    eggs = eggs_ahead(o.seen, o.mass.mass_g if o.mass else None)
    lays = say("{p:.0f} of 100 that she lays, about {eggs:g} eggs", p=100 * p_lays, eggs=eggs)
    fit = "" if p_ready >= SURE else say("{p:.0f} of 100 that she is fit in time", p=100 * p_ready)
    said = joined(", ", filter(None, (lays, fit)))
    locks = o.seen.all(Kind.LOCK, settings.season_start(on)) if this_season(settings, on) else ()
    met = tuple(dict.fromkeys(e.partner for e in locks if e.partner))
    return Prospect(r.tag, p_ready * p_lays, said, hatchlings=hatchlings_of(eggs), locked=met)


def eggs_ahead(seen: History, mass_g: float | None) -> float:
    """Eggs to expect of her, to half an egg: by her mass (a third of it, in eggs of the mass published) and
    her own past clutches, slugs counted; the usual clutch when nothing is known."""
    own = [(e.value or 0) + (e.detail if isinstance(e.detail, int) else 0) for e in seen.all(Kind.LAID)]
    usual = biology.CLUTCH_SIZE.value
    a_gram = biology.RELATIVE_CLUTCH_MASS.value / biology.EGG_MASS.value
    by_mass = usual if mass_g is None else a_gram * mass_g
    mean = (BY_MASS_COUNTS * by_mass + sum(own)) / (BY_MASS_COUNTS + len(own))
    return min(biology.CLUTCH_SIZE_WILD_MAX.value, max(1.0, round(mean / STEP) * STEP))


def hatchlings_of(eggs: float) -> Counts:
    """Chance of each number of hatchlings of a clutch of about so many eggs, as clutches vary."""
    usual = biology.CLUTCH_SIZE
    sd = usual.spread.sd if isinstance(usual.spread, Normal) else 0.0
    return spread_clutch(Fact("eggs she may lay", eggs, "eggs", CHOICE, Normal(eggs, sd))).hatchlings
