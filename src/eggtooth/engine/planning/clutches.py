"""Clutches lying and to come: when they pip, how many hatch, and whether the incubators have places for
all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import copysign, exp, hypot
from typing import TYPE_CHECKING

import numpy as np

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.cycle.season import Season, Stage
from eggtooth.engine.eggs.hatching import CANDLED_FROM_DAYS, Hatch, hatch_of, warm_share
from eggtooth.engine.eggs.house import House, house_of, usual, worth_days
from eggtooth.engine.eggs.incubation import days_at, pip_days, warmth
from eggtooth.engine.eggs.places import Stay, chance_of_more, occupancy, quantiles
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.occupants import Occupant, Room, room_on
from eggtooth.engine.planning.warmed import Warmed, warmed
from eggtooth.engine.spans import Z90, Span
from eggtooth.engine.wording import joined, say

if TYPE_CHECKING:
    from eggtooth.engine.cycle.forecast import Outlook

Z50 = 0.6745
GIVEN_UP_AFTER_DAYS = 100
TO_LEAVE_EGG_DAYS = 3
SURE_AFTER_OVULATION = 0.97
"""Chance that a female that ovulated lays (our choice); before, the facts' share of paired and ready ones."""


@dataclass(frozen=True, slots=True)
class Clutch:
    """One clutch in the incubator: the entries it rests on, when it pips and how many hatch; `box` is the tag
    of its incubator where that is known.
    """

    dam: str
    laid: Entry
    eggs: int
    pip: Span
    hatch: Hatch
    why: str
    box: str = ""


@dataclass(frozen=True, slots=True)
class PlacesDay:
    """Places wanted on one day, 5, 50 and 95 %, and the chance that they are more than there are."""

    on: date
    q05: int
    q50: int
    q95: int
    p_short: float


def clutches_on(colony: Colony, on: date, settings: Settings, kept: Kept | None = None) -> list[Clutch]:
    """Every clutch that lies on a day: not hatched, not lost, not given up."""
    kept = kept or Kept()
    boxes, house = _boxes(colony, on, settings, kept), house_on(colony, on, settings, kept)
    room = room_on(colony, on, settings, all_dates=False, kept=kept, males=False)
    lies = {o.tag: (o, laid) for o, laid in lying(room)}

    def told(tags: list[str]) -> list[Clutch]:
        return [_clutch(tag, lies[tag][0].seen, lies[tag][1], boxes, house) for tag in tags]

    return kept.each("clutch", {tag: (o, laid, boxes, house) for tag, (o, laid) in lies.items()}, told)


def _boxes(colony: Colony, on: date, settings: Settings, kept: Kept | None) -> Warmed:
    told = tuple(x for box in colony.incubators.values() for x in (box, colony.of_animal(box.tag)))
    return (kept or Kept()).get("incubators", told, lambda: warmed(colony, on, settings))


def clutch_of(colony: Colony, dam: str, laid: Entry, on: date, boxes: Warmed) -> Clutch:
    """One clutch as known on a day, whoever of the room is still there; the usual incubation. `boxes` are the
    incubators as known on that day.
    """
    return _clutch(dam, History(colony.of_animal(dam), on), laid, boxes, usual())


def lying(room: Room) -> Iterator[tuple[Occupant, Entry]]:
    """Females with a clutch that has not hatched, failed or been given up, each with its `laid` entry."""
    for occupant in room.values():
        laid = occupant.seen.last(Kind.LAID)
        if laid and laid.value and laid.since(occupant.seen.on) <= GIVEN_UP_AFTER_DAYS:
            eggs, hatched = (occupant.seen.last(k, laid.on) for k in (Kind.EGGS, Kind.HATCHED))
            if hatched is None and not (eggs is not None and eggs.value == 0):
                yield occupant, laid


def house_on(colony: Colony, on: date, settings: Settings, kept: Kept | None = None) -> House:
    """How this house's finished clutches differ from the usual, as known on a day."""
    kept = kept or Kept()
    boxes = _boxes(colony, on, settings, kept)
    dams = {t: (e,) for t, e in colony.entries.items() if t in colony.animals and _may_lay(colony.animals[t])}
    of_eggs = dict(zip(dams, kept.each("of eggs", dams, lambda tags: _of_eggs(colony, tags)), strict=True))

    def worths(tags: list[str]) -> list[list[float]]:
        return [list(_worths(of_eggs[tag], on, boxes)) for tag in tags]

    def heated(entries: Sequence[Entry]) -> bool:
        """Whether temperatures of an incubator bear on these clutches."""
        return len(boxes.boxes) == 1 or any(e.kind is Kind.EGGS and boxes.named(e) for e in entries)

    rests_on = {t: (e, boxes if heated(e) else boxes.target_c) for t, e in of_eggs.items()}
    found = kept.each("clutches", rests_on, worths)
    return kept.equal("house", (found,), lambda: house_of([days for one in found for days in one]))


def _may_lay(animal: Animal) -> bool:
    return animal.sex is not Sex.MALE


def _of_eggs(colony: Colony, tags: Sequence[str]) -> list[list[Entry]]:
    """The entries of clutches of some animals."""
    laid, eggs, pipped = Kind.LAID, Kind.EGGS, Kind.PIPPED
    return [[e for e in colony.entries[t] if (k := e.kind) is laid or k is eggs or k is pipped] for t in tags]


def _worths(entries: Sequence[Entry], on: date, boxes: Warmed) -> Iterator[float]:
    """What each finished clutch of an animal was worth in days."""
    seen = History(entries, on)
    for laid in seen.all(Kind.LAID):
        pipped = seen.first(Kind.PIPPED, laid.on)
        if pipped and 0 < (days := (pipped.on - laid.on).days) <= GIVEN_UP_AFTER_DAYS:
            heat, target = boxes.of(seen, laid)
            yield worth_days(warmth(laid.on, heat, target, pipped.on).celsius[:days])


def _clutch(dam: str, seen: History, laid: Entry, boxes: Warmed, house: House) -> Clutch:
    heat, target = boxes.of(seen, laid)
    on, checked, pipped = seen.on, seen.last(Kind.EGGS, laid.on), seen.last(Kind.PIPPED, laid.on)
    eggs = int((checked or laid).value or 0)
    warm = warmth(laid.on, heat, target, on)
    days = pip_days(warm, (on - laid.on).days, house)
    pip = Span.seen(pipped.on) if pipped else Span(*(laid.on + timedelta(days=round(d)) for d in days))
    held = [e for e in seen.all(Kind.EGGS, laid.on) if not boxes.only_placed(e)][-1:]
    candled = bool(held) and (held[0].on - laid.on).days >= CANDLED_FROM_DAYS
    share = warm_share(warm)
    why = (
        say("{mean:.1f} °C so far", mean=warm.mean(max(1, warm.known)))
        if heat and warm.known
        else say("kept at {target:g} °C", target=target)
    )
    box = boxes.stays(seen, laid)[-1:]
    lies = [say("in {box}", box=box[0][1].tag) if box else say("in which incubator is not noted")]
    several = lies if len(boxes.boxes) > 1 else []
    why = joined(", ", (why, *several, say("candled") if candled else say("not candled yet")))
    return Clutch(dam, laid, eggs, pip, hatch_of(eggs, share, candled), why, box[0][1].tag if box else "")


def stays_of(
    colony: Colony,
    on: date,
    settings: Settings,
    outlooks: Mapping[str, Outlook] | None = None,
    kept: Kept | None = None,
) -> list[Stay]:
    """Clutches lying and to come, as stays in the incubators; see `places_ahead`."""
    room = room_on(colony, on, settings, all_dates=outlooks is None, kept=kept, males=False)
    target = _boxes(colony, on, settings, kept).target_c
    house = house_on(colony, on, settings, kept)
    stays = [
        Stay(c.dam, 1.0, Span.seen(c.laid.on), _moved(c.pip, TO_LEAVE_EGG_DAYS))
        for c in clutches_on(colony, on, settings, kept)
    ]
    for occupant in room.values():
        if coming := _to_come(occupant, settings, outlooks):
            stays.append(Stay(occupant.tag, *coming, _leaves(coming[1], target, house)))
    return stays


def _to_come(
    occupant: Occupant, settings: Settings, outlooks: Mapping[str, Outlook] | None
) -> tuple[float, Span] | None:
    """The chance that she lays yet this season and when; `None` for one of whom no clutch is thought."""
    season = occupant.season
    if occupant.animal.sex is not Sex.FEMALE or season is None or season.stage is Stage.LAID:
        return None
    if outlooks is not None:
        outlook = outlooks.get(occupant.tag)
        return (outlook.p_lays, outlook.dates["laid"]) if outlook else None
    comes, chance = season.laid, _chance(season)
    if comes is None:
        start = settings.season_start(occupant.seen.on)
        if occupant.unready or not occupant.seen.last(Kind.PAIRED, start):
            return None
        comes = Span.normal(date(start.year + 1, 4, 15), 0, biology.LAID_DATE.value)
    return chance, comes


def _leaves(comes: Span, target_c: float, house: House) -> Span:
    """When the place of a clutch to come is free again: incubated at the target as this house does it."""
    days = days_at(target_c) * exp(house.shift)
    sd = days * hypot(house.sd, biology.INCUBATION_RESIDUAL_CV.value / 100)
    return _moved(comes, round(days) + TO_LEAVE_EGG_DAYS, sd)


def _chance(season: Season) -> float:
    if season.stage in (Stage.OVULATED, Stage.SHED):
        return SURE_AFTER_OVULATION
    return 1 - biology.REABSORBS_DOMINANT.value if season.stage is Stage.BUILDING else biology.LAYS.value


def _moved(span: Span, days: int, more_sd: float = 0.0) -> Span:
    """A span some days later; a normal spread of `more_sd` days joins its own, level by level."""

    def at(day: date, z: float) -> date:
        own = (day - span.q50).days
        return span.q50 + timedelta(days=days + round(copysign(hypot(own, z * more_sd), z or own)))

    return Span(
        at(span.q05, -Z90), at(span.q25, -Z50), at(span.q50, 0.0), at(span.q75, Z50), at(span.q95, Z90)
    )


def places_ahead(
    colony: Colony,
    on: date,
    settings: Settings,
    days: int = 270,
    outlooks: Mapping[str, Outlook] | None = None,
    kept: Kept | None = None,
) -> list[PlacesDay]:
    """Places wanted on each day ahead against all incubators together. Empty without any clutch to think of.

    `outlooks`, by tag, are the forecasts of this season's females: each then comes with her own chance of
    laying and her own dates. Without them the plain dates of `season_of` and the shares of common practice
    stand in, for those paired or scanned. The chance over a whole season is at least that of its worst day;
    days hang together, so they do not add up.
    """
    stays = stays_of(colony, on, settings, outlooks, kept)
    if not stays:
        return []
    p = (kept or Kept()).equal("places", (stays, days), lambda: occupancy(stays, on, days))
    short = chance_of_more(p, sum(b.places for b in colony.incubators.values()))
    low, mid, high = (quantiles(p, q) for q in (0.05, 0.5, 0.95))
    return [
        PlacesDay(
            on + timedelta(days=d), int(low[d]), int(mid[d]), int(high[d]), float(np.clip(short[d], 0, 1))
        )
        for d in range(days)
    ]
