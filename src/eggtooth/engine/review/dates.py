"""Dates told against the days things happened: ovulation, pre-lay shed, eggs, pip, and males' rest."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean

from eggtooth.engine.colony import Animal, Colony
from eggtooth.engine.cycle.forecast import forecast
from eggtooth.engine.cycle.prior import Rates
from eggtooth.engine.eggs.house import House
from eggtooth.engine.eggs.incubation import pip_date
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.warmed import Warmed
from eggtooth.engine.spans import Span

EVERY_DAYS = 14
BEFORE_DAYS = 180
MILESTONES = {Kind.OVULATION: "ovulation", Kind.PRELAY_SHED: "prelay_shed", Kind.LAID: "laid"}


@dataclass(frozen=True, slots=True)
class Told:
    """One forecast that was told on a day of what then happened."""

    tag: str
    what: Kind
    on: date
    span: Span
    happened: Entry

    @property
    def weeks_ahead(self) -> int:
        """Whole weeks from the telling to the day it happened."""
        return (self.happened.on - self.on).days // 7

    @property
    def late_by_days(self) -> int:
        """Days by which it came later than the middle of the forecast; negative: sooner."""
        return (self.happened.on - self.span.q50).days

    def inside(self, low: date, high: date) -> bool:
        """Whether it happened between two dates, both counted in."""
        return low <= self.happened.on <= high


@dataclass(frozen=True, slots=True)
class Tally:
    """How forecasts of one kind told so many weeks ahead did: how many of `n` lay inside the 50 and 90 %
    spans, the mean error and the mean shift in days, and the mean width of the 90 % span.

    Forecasts of one animal hang together: `animals` of them stand behind the `n`.
    """

    what: Kind
    weeks_ahead: int
    n: int
    animals: int
    in_50: int
    in_90: int
    error_days: float
    shift_days: float
    width_90_days: float


def first_of(entries: Sequence[Entry], kind: Kind, start: date, end: date) -> Entry | None:
    return next((e for e in entries if e.kind is kind and start <= e.on <= end), None)


def before_eggs(
    colony: Colony, females: Sequence[Animal], start: date, end: date, settings: Settings, rates: Rates
) -> Iterator[Told]:
    """Forecasts of all females on all days, worked out in one go."""
    asked: list[tuple[str, dict[Kind, Entry], History]] = []
    for animal in females:
        entries = colony.of_animal(animal.tag)
        events = {k: e for k in MILESTONES if (e := first_of(entries, k, start, end))}
        asked += [(animal.tag, events, History(entries, day)) for day in _days(events, start)]
    for (tag, events, seen), outlook in zip(
        asked, forecast([h for _, _, h in asked], settings, rates, as_one_house=False), strict=True
    ):
        for kind, event in events.items():
            span = outlook.dates.get(MILESTONES[kind])
            if span is not None and seen.on < event.on:
                yield Told(tag, kind, seen.on, span, event)


def _days(events: dict[Kind, Entry], start: date) -> Iterator[date]:
    """The days on which a female's forecasts are told."""
    if not events:
        return
    last = max(e.on for e in events.values())
    day = max(start, min(e.on for e in events.values()) - timedelta(days=BEFORE_DAYS))
    while day < last:
        yield day
        day += timedelta(days=EVERY_DAYS)


def incubating(
    colony: Colony, tag: str, start: date, end: date, boxes: Callable[[date], Warmed], house: House
) -> Iterator[Told]:
    """Pip dates of a female's clutch, told until it pipped; `boxes` are the incubators as known on a day."""
    entries = colony.of_animal(tag)
    laid, pipped = first_of(entries, Kind.LAID, start, end), first_of(entries, Kind.PIPPED, start, end)
    if laid is None or pipped is None or pipped.on <= laid.on:
        return
    day = laid.on
    while day < pipped.on:
        heat, target = boxes(day).of(History(entries, day), laid)
        span = pip_date(laid.on, heat, target, day, unpipped=True, house=house)
        yield Told(tag, Kind.PIPPED, day, span, pipped)
        day += timedelta(days=EVERY_DAYS)


def tallied(told: Sequence[Told]) -> Iterator[Tally]:
    """Tallies by milestone and weeks ahead, in the order of the season."""
    groups: dict[tuple[Kind, int], list[Told]] = {}
    for one in told:
        groups.setdefault((one.what, one.weeks_ahead), []).append(one)
    order = (*MILESTONES, Kind.PIPPED, Kind.RESTED)
    for what, weeks in sorted(groups, key=lambda g: (order.index(g[0]), g[1])):
        yield _tally(what, weeks, groups[what, weeks])


def _tally(what: Kind, weeks: int, told: Sequence[Told]) -> Tally:
    return Tally(
        what,
        weeks,
        len(told),
        len({t.tag for t in told}),
        sum(t.inside(t.span.q25, t.span.q75) for t in told),
        sum(t.inside(t.span.q05, t.span.q95) for t in told),
        fmean(abs(t.late_by_days) for t in told),
        fmean(t.late_by_days for t in told),
        fmean((t.span.q95 - t.span.q05).days for t in told),
    )
