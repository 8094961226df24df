"""Chances of laying told against who laid: Brier score and reliability."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean

from eggtooth.engine.colony import Animal, Colony
from eggtooth.engine.cycle.females import females_of
from eggtooth.engine.cycle.forecast import forecast
from eggtooth.engine.cycle.prior import Rates
from eggtooth.engine.entries import LEFT, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings

EVERY_DAYS = 28
LAST_TOLD_DAYS = 300
"""Days into the breeding year after which nobody asks any more whether she lays (late June)."""
SEEN_UNTIL_DAYS = 240
"""A female of whom nothing is noted after this day (late April) may have laid unseen: not scored."""
EGGS_SEEN = frozenset({Kind.LAID, Kind.EGGS, Kind.PIPPED, Kind.HATCHED})
TENTHS = 10
NONE = "no eggs"


@dataclass(frozen=True, slots=True)
class Chance:
    """The chance that a female lays, told on a day, and whether she did."""

    tag: str
    on: date
    weeks_in: int
    p: float
    laid: bool


@dataclass(frozen=True, slots=True)
class Odds:
    """How chances did: `brier` is the mean square of chance minus outcome (Brier 1950), 0 best; `plain` the
    same had everybody been told the share `came`, which nobody knew beforehand.
    """

    n: int
    animals: int
    said: float
    came: float
    brier: float
    plain: float


def chances_of_laying(
    colony: Colony, start: date, end: date, settings: Settings, rates: Rates
) -> Iterator[Chance]:
    """Every chance told in a finished season of females whose season is known, until they laid."""
    asked: list[tuple[Animal, History, bool]] = []
    for days in range(0, LAST_TOLD_DAYS, EVERY_DAYS):
        day = start + timedelta(days=days)
        for animal, seen in females_of(colony, day, settings):
            laid = laid_on(colony, animal.tag, start, end)
            if laid == NONE or (isinstance(laid, date) and laid > day):
                asked.append((animal, seen, laid != NONE))
    told = forecast([seen for _, seen, _ in asked], settings, rates, as_one_house=False)
    for (animal, seen, came), outlook in zip(asked, told, strict=True):
        yield Chance(animal.tag, seen.on, (seen.on - start).days // 7, outlook.p_lays, came)


def laid_on(colony: Colony, tag: str, start: date, end: date) -> date | str | None:
    """The day eggs of hers are first noted in a season, `NONE` when she had none; `None` when nobody can
    know: she left, or nothing more was noted of her.
    """
    entries = [e for e in colony.of_animal(tag) if start <= e.on <= end]
    eggs = next((e for e in entries if e.kind in EGGS_SEEN), None)
    if eggs:
        return eggs.on
    until = start + timedelta(days=SEEN_UNTIL_DAYS)
    followed = any(e.on >= until for e in entries)
    return NONE if followed and not any(e.kind in LEFT for e in entries) else None


def odds_of(told: Sequence[Chance]) -> Odds:
    """Score some chances together. Raises `ValueError` for none."""
    if not told:
        raise ValueError("no chance was told")
    came = fmean(t.laid for t in told)
    return Odds(
        len(told),
        len({t.tag for t in told}),
        fmean(t.p for t in told),
        came,
        fmean((t.p - t.laid) ** 2 for t in told),
        came * (1 - came),
    )


def by_weeks(told: Sequence[Chance]) -> dict[int, Odds]:
    """Scores by weeks into the breeding year."""
    weeks = sorted({t.weeks_in for t in told})
    return {w: odds_of([t for t in told if t.weeks_in == w]) for w in weeks}


def reliability(told: Sequence[Chance]) -> dict[int, Odds]:
    """Scores by tenths of the chance told, 0 for 0 to 10 % … 9 for 90 to 100 %; empty tenths left out."""
    groups: dict[int, list[Chance]] = {}
    for t in told:
        groups.setdefault(min(TENTHS - 1, int(TENTHS * t.p)), []).append(t)
    return {tenth: odds_of(groups[tenth]) for tenth in sorted(groups)}
