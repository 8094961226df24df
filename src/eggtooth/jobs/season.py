"""The seasons as strips: chances by day, what was seen, nights with males; who is next comes first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from eggtooth.engine.colony import Animal, Colony, Sex, State, Tub
from eggtooth.engine.condition.nights import Night, nights_in
from eggtooth.engine.cycle.daily import Daily, daily_of, trimmed
from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.females import females_of, in_season
from eggtooth.engine.cycle.forecast import Outlook, blocks, outlooks, told_of
from eggtooth.engine.cycle.grid import ROUND
from eggtooth.engine.cycle.next_scan import NextScan, next_scans
from eggtooth.engine.cycle.prior import PRIOR, Rates
from eggtooth.engine.eggs.house import House as PastClutches
from eggtooth.engine.eggs.incubation import Warmth, pip_chances, pip_days, warmth
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.normal import Floats
from eggtooth.engine.planning.clutches import GIVEN_UP_AFTER_DAYS
from eggtooth.engine.planning.clutches import house_on as past_clutches
from eggtooth.engine.planning.warmed import warmed
from eggtooth.engine.spans import Span
from eggtooth.jobs.forecast import House, house_on, incubation_at
from eggtooth.jobs.gather import Source

MILESTONES = {
    "off_food": None,
    "ovulation": Kind.OVULATION,
    "prelay_shed": Kind.PRELAY_SHED,
    "laid": Kind.LAID,
    "pip": Kind.PIPPED,
}
"""The milestones of a strip, and the entry by which each is seen."""

UNLIKELY = 0.1
"""Females less likely to lay come after all others."""

Looking = tuple[Animal, History]
Told = tuple[Outlook, dict[str, Daily], NextScan | None]


@dataclass(frozen=True, slots=True)
class Strip:
    """One female's season for drawing. `daily` holds the chances by day of the milestones not seen yet."""

    animal: Animal
    tub: Tub | None
    outlook: Outlook
    daily: Mapping[str, Daily]
    seen: Mapping[str, Entry]
    nights: tuple[Night, ...]
    locks: tuple[Entry, ...]
    next_scan: NextScan | None
    coming: str
    """The milestone that comes next; empty once her eggs have pipped or are given up."""
    rates: Rates = PRIOR
    """Her rates, as her past and her house tell them."""

    @property
    def due(self) -> Span | None:
        """When it comes."""
        return self.outlook.dates[self.coming] if self.coming else None


@dataclass(frozen=True, slots=True)
class Strips:
    """Some of the females in the order of who is next, and how many there are in all."""

    strips: tuple[Strip, ...]
    females: int


def strips_on(source: Source, on: date, first: int = 0, most: int = 50, kept: Kept | None = None) -> Strips:
    """The strips of one page. Their order is told by a quick look at all; only those shown are worked out
    in full, each by her own habit and her house. `kept` as for `round_for`.
    """
    kept = kept or Kept()
    females = females_of(source.colony, on, source.settings, kept)
    house = kept.get("her house", tuple(seen for _, seen in females), lambda: house_on(source, on))
    ordered = _in_order(females, house, source.settings, on, kept)
    found = _worked(source, ordered[first : first + most], on, house, kept)
    found.sort(key=lambda s: _key(s.outlook, s.coming, s.animal.tag, on))
    return Strips(tuple(found), len(females))


def strip_of(source: Source, tag: str, on: date) -> Strip | None:
    """One female's strip; `None` when her season is not forecast, or she is none of the females here."""
    animal, seen = source.colony.animals[tag], History(source.colony.of_animal(tag), on)
    here = not source.colony.left_by(tag, on) and animal.state is State.HERE
    if animal.sex is not Sex.FEMALE or not here or not in_season(animal, seen, source.settings):
        return None
    house = house_on(source, on)
    return _worked(source, [(animal, seen)], on, house, Kept())[0] if tag in house.tags else None


def _in_order(
    females: Sequence[Looking], house: House, settings: Settings, on: date, kept: Kept
) -> list[Looking]:
    """By the next date to come on the coarser grid: about 1 ms a female."""
    start = settings.season_start(on)
    quick = kept.get("quick outlooks", (house,), lambda: outlooks(house.evidence, house.rates, ROUND))
    keys = {}
    for (animal, seen), told in zip(females, quick, strict=True):
        over = _given_up(seen, start)
        coming = "" if over else _coming(_noted(seen, start), told.dates, on)
        keys[animal.tag] = _key(told, coming, animal.tag, on)
    return sorted(females, key=lambda f: keys[f[0].tag])


def _key(told: Outlook, coming: str, tag: str, on: date) -> tuple[bool, bool, date, str]:
    """By the middle date of what comes next; by its later quarter where the middle has passed."""
    when = date.max
    if coming:
        span = told.dates[coming]
        when = span.q50 if span.q50 >= on else max(span.q75, on)
    return not coming, told.p_lays < UNLIKELY, when, tag


def _coming(noted: Mapping[str, Entry], dates: Mapping[str, Span], on: date) -> str:
    """The first milestone after the last one seen that may still come: one that is most surely past went by
    unseen. Off food is not seen as such and left out.
    """
    names = [n for n, kind in MILESTONES.items() if kind]
    reached = max((names.index(n) for n in noted), default=-1)
    return next((n for n in names[reached + 1 :] if dates[n].q95 >= on), "")


def _noted(seen: History, start: date) -> dict[str, Entry]:
    found = {name: seen.first(kind, start) for name, kind in MILESTONES.items() if kind}
    found["pip"] = found["pip"] or seen.first(Kind.HATCHED, start)
    return {name: entry for name, entry in found.items() if entry}


def _given_up(seen: History, start: date) -> bool:
    """Whether her clutch will not pip any more: none good, all lost, or far too old."""
    laid, checked = seen.first(Kind.LAID, start), seen.last(Kind.EGGS, start)
    if laid is None:
        return False
    return not laid.value or bool(checked and not checked.value) or laid.since(seen.on) > GIVEN_UP_AFTER_DAYS


def _worked(source: Source, females: Sequence[Looking], on: date, house: House, kept: Kept) -> list[Strip]:
    start = source.settings.season_start(on)
    told = kept.each(
        "strip",
        {animal.tag: (seen, house) for animal, seen in females},
        lambda tags: _told(*house.of(tags), source.settings),
    )
    rates = house.of([animal.tag for animal, _ in females])[1]
    nights = _nights(source.colony, females, on, start)
    found = [
        replace(_strip(source.colony, f, what, nights[f[0].tag], start), rates=own)
        for f, what, own in zip(females, told, rates, strict=True)
    ]
    return _by_the_incubator(source, found, on, kept)


def _told(evidence: Sequence[Evidence], rates: Sequence[Rates], settings: Settings) -> list[Told]:
    incubation, told = incubation_at(settings.incubator_c), list[Told]()
    for block in blocks(evidence, rates):
        told += zip(told_of(block, incubation), daily_of(block, incubation), next_scans(block), strict=True)
    return told


def _strip(
    colony: Colony,
    female: Looking,
    told: Told,
    nights: Sequence[Night],
    start: date,
) -> Strip:
    (animal, seen), (outlook, daily, scan) = female, told
    noted = _noted(seen, start)
    over = _given_up(seen, start)
    ahead = {
        n: d for n, d in daily.items() if n in MILESTONES and n not in noted and not (over and n == "pip")
    }
    locks = tuple(seen.all(Kind.LOCK, start))
    tub = colony.tub_of(animal.tag, seen.on)
    coming = "" if over else _coming(noted, outlook.dates, seen.on)
    told_nights = tuple(sorted(nights))
    return Strip(animal, tub, outlook, ahead, noted, told_nights, locks, scan, coming)


def _nights(colony: Colony, females: Sequence[Looking], on: date, start: date) -> Mapping[str, list[Night]]:
    """Nights by female, from the males' own entries: a male put elsewhere has left her."""
    found: defaultdict[str, list[Night]] = defaultdict(list)
    for male in sorted({e.partner for _, seen in females for e in seen.all(Kind.PAIRED, start)}):
        for night in nights_in(History(colony.of_animal(male), on), start):
            found[night.female].append(night)
    return found


def _by_the_incubator(source: Source, strips: list[Strip], on: date, kept: Kept) -> list[Strip]:
    """Clutches that lie pip by the temperatures they had and the house's past clutches."""
    if not any("laid" in s.seen for s in strips):
        return strips
    known = source.colony.as_of(on)
    boxes = warmed(known, on, source.settings)
    house = past_clutches(known, on, source.settings, kept)

    def warm(strip: Strip) -> Warmth:
        laid = strip.seen["laid"]
        heat, target = boxes.of(History(known.of_animal(laid.tag), on), laid)
        return warmth(laid.on, heat, target, on)

    return [
        _pipping(s, warm(s), house, on) if "laid" in s.seen and (s.coming or "pip" in s.seen) else s
        for s in strips
    ]


def _pipping(strip: Strip, warm: Warmth, house: PastClutches, on: date) -> Strip:
    if "pip" in strip.seen:
        span, daily = Span.seen(strip.seen["pip"].on), strip.daily
    else:
        waited = (on - warm.laid).days
        span = Span(*(warm.laid + timedelta(days=round(d)) for d in pip_days(warm, waited, house)))
        daily = dict(strip.daily) | {"pip": _pips(pip_chances(warm, house), warm.laid, waited)}
    outlook = replace(strip.outlook, dates=strip.outlook.dates | {"pip": span})
    return replace(strip, outlook=outlook, daily=daily, coming=_coming(strip.seen, outlook.dates, on))


def _pips(upto: Floats, laid: date, waited: int) -> Daily:
    """Chance by day of pipping, given that they have not pipped before."""
    chance = np.diff(upto)
    chance[: max(0, waited)] = 0.0
    return trimmed(laid + timedelta(days=1), chance / chance.sum())
