"""Clutches lying and to come: when they pip, how many hatch, and whether the incubators have places for
all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.cycle.season import Season, Stage
from eggtooth.engine.eggs.hatching import CANDLED_FROM_DAYS, Hatch, hatch_of, warm_share
from eggtooth.engine.eggs.house import House, house_of, worth_days
from eggtooth.engine.eggs.incubation import days_at, pip_days, warmth
from eggtooth.engine.eggs.places import Stay, chance_of_more, occupancy, quantiles
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.occupants import Occupant, Room, room_on
from eggtooth.engine.spans import Span

GIVEN_UP_AFTER_DAYS = 100
TO_LEAVE_EGG_DAYS = 3
SURE_AFTER_OVULATION = 0.97
"""Chance that a female that ovulated lays (our choice); before, the facts' share of paired and ready ones."""


@dataclass(frozen=True, slots=True)
class Clutch:
    """One clutch in the incubator: the entries it rests on, when it pips and how many hatch."""

    dam: str
    laid: Entry
    eggs: int
    pip: Span
    hatch: Hatch
    why: str


@dataclass(frozen=True, slots=True)
class PlacesDay:
    """Places wanted on one day, 5, 50 and 95 %, and the chance that they are more than there are."""

    on: date
    q05: int
    q50: int
    q95: int
    p_short: float


def clutches_on(colony: Colony, on: date, settings: Settings) -> list[Clutch]:
    """Every clutch that lies on a day: not hatched, not lost, not given up."""
    heat, target = heat_of(colony, on, settings)
    house = house_on(colony, on, settings)
    return [_clutch(o, laid, heat, target, on, house) for o, laid in lying(room_on(colony, on, settings))]


def heat_of(colony: Colony, on: date, settings: Settings) -> tuple[list[Entry], float]:
    """Temperatures and target of the one incubator; with several, which holds it is not known: the target."""
    boxes = list(colony.incubators.values())
    if len(boxes) != 1:
        targets = [b.target_c for b in boxes]
        return [], sum(targets) / len(targets) if targets else settings.incubator_c
    return list(History(colony.of_animal(boxes[0].tag), on).all(Kind.TEMPERATURE)), boxes[0].target_c


def lying(room: Room) -> Iterator[tuple[Occupant, Entry]]:
    """Females with a clutch that has not hatched, failed or been given up, each with its `laid` entry."""
    for occupant in room.values():
        laid = occupant.seen.last(Kind.LAID)
        if laid and laid.value and laid.since(occupant.seen.on) <= GIVEN_UP_AFTER_DAYS:
            eggs, hatched = (occupant.seen.last(k, laid.on) for k in (Kind.EGGS, Kind.HATCHED))
            if hatched is None and not (eggs is not None and eggs.value == 0):
                yield occupant, laid


def house_on(colony: Colony, on: date, settings: Settings) -> House:
    """How this house's finished clutches differ from the usual, as known on a day."""
    heat, target = heat_of(colony, on, settings)
    worths = []
    for tag in colony.animals:
        seen = History(colony.of_animal(tag), on)
        for laid in seen.all(Kind.LAID):
            pipped = seen.first(Kind.PIPPED, laid.on)
            if pipped and 0 < (days := (pipped.on - laid.on).days) <= GIVEN_UP_AFTER_DAYS:
                worths.append(worth_days(warmth(laid.on, heat, target, pipped.on).celsius[:days]))
    return house_of(worths)


def _clutch(
    occupant: Occupant, laid: Entry, heat: Sequence[Entry], target: float, on: date, house: House
) -> Clutch:
    checked = occupant.seen.last(Kind.EGGS, laid.on)
    pipped = occupant.seen.last(Kind.PIPPED, laid.on)
    eggs = int((checked or laid).value or 0)
    warm = warmth(laid.on, heat, target, on)
    days = pip_days(warm, (on - laid.on).days, house)
    pip = Span.seen(pipped.on) if pipped else Span(*(laid.on + timedelta(days=round(d)) for d in days))
    candled = checked is not None and (checked.on - laid.on).days >= CANDLED_FROM_DAYS
    share = warm_share(warm)
    why = (
        f"{warm.mean(max(1, warm.known)):.1f} °C so far" if heat and warm.known else f"kept at {target:g} °C"
    )
    why += ", candled" if candled else ", not candled yet"
    return Clutch(occupant.tag, laid, eggs, pip, hatch_of(eggs, share, candled), why)


def stays_of(colony: Colony, on: date, settings: Settings) -> list[Stay]:
    """Clutches lying and to come, as stays in the incubators."""
    room = room_on(colony, on, settings)
    target = heat_of(colony, on, settings)[1]
    stays = [
        Stay(c.dam, 1.0, Span.seen(c.laid.on), _moved(c.pip, TO_LEAVE_EGG_DAYS))
        for c in clutches_on(colony, on, settings)
    ]
    return stays + [s for o in room.values() if (s := _to_come(o, target, settings))]


def _to_come(occupant: Occupant, target: float, settings: Settings) -> Stay | None:
    season = occupant.season
    if occupant.animal.sex is not Sex.FEMALE or season is None or season.stage is Stage.LAID:
        return None
    comes, chance = season.laid, _chance(season)
    if comes is None:
        start = settings.season_start(occupant.seen.on)
        if occupant.unready or not occupant.seen.last(Kind.PAIRED, start):
            return None
        comes = Span.normal(date(start.year + 1, 4, 15), 0, biology.LAID_DATE.value)
    return Stay(occupant.tag, chance, comes, _moved(comes, round(days_at(target)) + TO_LEAVE_EGG_DAYS, 3.0))


def _chance(season: Season) -> float:
    if season.stage in (Stage.OVULATED, Stage.SHED):
        return SURE_AFTER_OVULATION
    return 1 - biology.REABSORBS_DOMINANT.value if season.stage is Stage.BUILDING else biology.LAYS.value


def _moved(span: Span, days: int, more_sd: float = 0.0) -> Span:
    """A span some days later, its outer quantiles somewhat wider."""
    half = (span.q95 - span.q05).days / 2
    wider = round((half**2 + (1.645 * more_sd) ** 2) ** 0.5 - half)
    by = timedelta(days=days)
    return Span(
        span.q05 + by - timedelta(days=wider), span.q25 + by, span.q50 + by, span.q75 + by,
        span.q95 + by + timedelta(days=wider),
    )  # fmt: skip


def places_ahead(colony: Colony, on: date, settings: Settings, days: int = 270) -> list[PlacesDay]:
    """Places wanted on each day ahead against all incubators together. Empty without any clutch to think of.

    The chance over a whole season is at least that of its worst day; days hang together, so they do not add
    up.
    """
    stays = stays_of(colony, on, settings)
    if not stays:
        return []
    p = occupancy(stays, on, days)
    short = chance_of_more(p, sum(b.places for b in colony.incubators.values()))
    low, mid, high = (quantiles(p, q) for q in (0.05, 0.5, 0.95))
    return [
        PlacesDay(
            on + timedelta(days=d), int(low[d]), int(mid[d]), int(high[d]), float(np.clip(short[d], 0, 1))
        )
        for d in range(days)
    ]
