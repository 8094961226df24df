"""Places in the incubators over the season: stays of clutches lying and to come, the chance of too few."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from math import copysign, exp, hypot
from typing import TYPE_CHECKING

import numpy as np

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.cycle.females import females_of
from eggtooth.engine.cycle.season import Season, Stage
from eggtooth.engine.eggs.house import House
from eggtooth.engine.eggs.incubation import days_at
from eggtooth.engine.eggs.places import Stay, chance_of_more, occupancy, quantiles
from eggtooth.engine.entries import Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.clutches import boxes_on, clutches_on, house_on
from eggtooth.engine.planning.occupants import room_on
from eggtooth.engine.spans import Z90, Span

if TYPE_CHECKING:
    from eggtooth.engine.cycle.forecast import Outlook

Z50 = 0.6745
TO_LEAVE_EGG_DAYS = 3
SURE_AFTER_OVULATION = 0.97
"""Chance that a female that ovulated lays (our choice); before, the facts' share of paired and ready ones."""


@dataclass(frozen=True, slots=True)
class PlacesDay:
    """Places wanted on one day, 5, 50 and 95 %, and the chance that they are more than there are."""

    on: date
    q05: int
    q50: int
    q95: int
    p_short: float


def stays_of(
    colony: Colony,
    on: date,
    settings: Settings,
    outlooks: Mapping[str, Outlook] | None = None,
    kept: Kept | None = None,
) -> list[Stay]:
    """Clutches lying and to come, as stays in the incubators; see `places_ahead`."""
    kept = kept or Kept()
    target, house = boxes_on(colony, on, settings, kept).target_c, house_on(colony, on, settings, kept)
    stays = [
        Stay(c.dam, 1.0, Span.seen(c.laid.on), _moved(c.pip, TO_LEAVE_EGG_DAYS))
        for c in clutches_on(colony, on, settings, kept)
    ]
    coming = (
        _by_plain_rates(colony, on, settings, kept)
        if outlooks is None
        else _by_outlook(colony, on, settings, outlooks, kept)
    )
    return stays + [Stay(tag, chance, comes, _leaves(comes, target, house)) for tag, chance, comes in coming]


def _by_outlook(
    colony: Colony, on: date, settings: Settings, outlooks: Mapping[str, Outlook], kept: Kept
) -> Iterator[tuple[str, float, Span]]:
    """Females that have not laid this season, each with the chance that she lays yet, and when."""
    start = settings.season_start(on)
    for animal, seen in females_of(colony, on, settings, kept):
        outlook = outlooks.get(animal.tag)
        if outlook and not seen.last(Kind.LAID, start):
            yield animal.tag, outlook.p_lays, outlook.dates["laid"]


def _by_plain_rates(
    colony: Colony, on: date, settings: Settings, kept: Kept
) -> Iterator[tuple[str, float, Span]]:
    """The same of those paired or scanned, where no forecast is at hand."""
    for occupant in room_on(colony, on, settings, kept=kept, males=False).values():
        season = occupant.season
        if occupant.animal.sex is not Sex.FEMALE or season is None or season.stage is Stage.LAID:
            continue
        comes, start = season.laid, settings.season_start(on)
        if comes is None:
            if occupant.unready or not occupant.seen.last(Kind.PAIRED, start):
                continue
            comes = Span.normal(date(start.year + 1, 4, 15), 0, biology.LAID_DATE.value)
        yield occupant.tag, _chance(season), comes


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
