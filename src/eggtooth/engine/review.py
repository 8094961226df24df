"""The season that was: forecasts as they stood on each day, from the entries of that day, against what
happened.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.cycle.season import Season, season_of
from eggtooth.engine.eggs.incubation import pip_date
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.clutches import heat_of
from eggtooth.engine.spans import Span

EVERY_DAYS = 7
BEFORE_DAYS = 180
MILESTONES: dict[Kind, Callable[[Season], Span | None]] = {
    Kind.OVULATION: lambda s: s.ovulation,
    Kind.PRELAY_SHED: lambda s: s.prelay_shed,
    Kind.LAID: lambda s: s.laid,
}


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
    spans, the mean error and the mean shift in days, and the mean width of the 90 % span."""

    what: Kind
    weeks_ahead: int
    n: int
    in_50: int
    in_90: int
    error_days: float
    shift_days: float
    width_90_days: float


@dataclass(frozen=True, slots=True)
class Review:
    """One season's forecasts: every one told, and the tallies by milestone and weeks ahead."""

    start: date
    end: date
    told: tuple[Told, ...]
    tallies: tuple[Tally, ...]


def review_of(colony: Colony, on: date, settings: Settings, *, this_season: bool = False) -> Review:
    """The last finished season, or the one `on` lies in; each forecast is worked out anew from the entries
    of its day.

    Entries are taken as noted on their own date. Cost: one forecast per female, week and milestone.
    """
    turn = settings.season_start(on)
    start = turn if this_season else settings.season_start(turn - timedelta(days=1))
    end = on if this_season else turn - timedelta(days=1)
    known = colony.as_of(on)
    told = tuple(t for a in known.animals.values() for t in _told_of(known, a, start, end, settings))
    return Review(start, end, told, tuple(tallied(told)))


def _told_of(colony: Colony, animal: Animal, start: date, end: date, settings: Settings) -> Iterator[Told]:
    if animal.sex is not Sex.FEMALE:
        return
    entries = colony.of_animal(animal.tag)
    events = {k: e for k in MILESTONES if (e := _first(entries, k, start, end))}
    if events:
        yield from _before_eggs(animal.tag, entries, events, start, settings)
    laid, pipped = _first(entries, Kind.LAID, start, end), _first(entries, Kind.PIPPED, start, end)
    if laid and pipped and laid.on < pipped.on:
        yield from _incubating(colony, animal.tag, laid, pipped, settings)


def _first(entries: Sequence[Entry], kind: Kind, start: date, end: date) -> Entry | None:
    return next((e for e in entries if e.kind is kind and start <= e.on <= end), None)


def _before_eggs(
    tag: str, entries: Sequence[Entry], events: dict[Kind, Entry], start: date, settings: Settings
) -> Iterator[Told]:
    last = max(e.on for e in events.values())
    day = max(start, min(e.on for e in events.values()) - timedelta(days=BEFORE_DAYS))
    while day < last:
        season = season_of(History(entries, day), settings)
        for kind, event in events.items():
            span = MILESTONES[kind](season) if day < event.on else None
            if span is not None and span.q05 != span.q95:
                yield Told(tag, kind, day, span, event)
        day += timedelta(days=EVERY_DAYS)


def _incubating(colony: Colony, tag: str, laid: Entry, pipped: Entry, settings: Settings) -> Iterator[Told]:
    day = laid.on
    while day < pipped.on:
        heat, target = heat_of(colony, day, settings)
        yield Told(tag, Kind.PIPPED, day, pip_date(laid.on, heat, target, day, unpipped=True), pipped)
        day += timedelta(days=EVERY_DAYS)


def tallied(told: Sequence[Told]) -> Iterator[Tally]:
    """Tallies by milestone and weeks ahead, in the order of the season."""
    groups: dict[tuple[Kind, int], list[Told]] = {}
    for one in told:
        groups.setdefault((one.what, one.weeks_ahead), []).append(one)
    order = (*MILESTONES, Kind.PIPPED)
    for what, weeks in sorted(groups, key=lambda g: (order.index(g[0]), g[1])):
        yield _tally(what, weeks, groups[what, weeks])


def _tally(what: Kind, weeks: int, told: Sequence[Told]) -> Tally:
    return Tally(
        what,
        weeks,
        len(told),
        sum(t.inside(t.span.q25, t.span.q75) for t in told),
        sum(t.inside(t.span.q05, t.span.q95) for t in told),
        fmean(abs(t.late_by_days) for t in told),
        fmean(t.late_by_days for t in told),
        fmean((t.span.q95 - t.span.q05).days for t in told),
    )
