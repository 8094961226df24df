"""Whether an animal eats: off food told apart from refusals in shed and from weeks when nobody took notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from eggtooth.engine.condition.weights import believable
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History

IN_SHED_DAYS = 14
NOTES_STOP_DAYS = 28
GAINED_PERCENT = 4.0
"""A gain of this much after the last noted meal means that it ate unnoted (scale error is 2 %: our choice)."""


class Eats(StrEnum):
    """How an animal stands to food."""

    EATING = "eating"
    IN_SHED = "refuses in shed"
    OFF_FOOD = "off food"
    NO_NOTES = "no meals noted of late"


@dataclass(frozen=True, slots=True)
class Appetite:
    """`last` the entry from which to count days without food (a meal taken, or a weighing that shows one);
    `refused` the refusals since then that no shed explains; `offered` the last offer noted."""

    eats: Eats
    last: Entry | None
    refused: tuple[Entry, ...]
    offered: Entry | None

    def days(self, on: date) -> int | None:
        """Days since it is known to have eaten."""
        return self.last.since(on) if self.last else None


def appetite_of(seen: History) -> Appetite:
    """Read one animal's appetite. A refusal up to two weeks before a shed, or on its day, says nothing.

    Common practice: appetite drops for the 10 to 14 days of a shed.
    """
    eaten = seen.last_meal()
    gained = _gain_unnoted(seen, eaten)
    last = gained or eaten
    offers = seen.all(Kind.MEAL, last.on if last else None)
    refused = [e for e in offers if e.value == 0 and not (last and e.on <= last.on)]
    told = tuple(e for e in refused if not _in_shed(seen, e.on))
    offered = seen.last(Kind.MEAL)
    return Appetite(_stands(seen, refused, told, offered), last, told, offered)


def _stands(seen: History, refused: Sequence[Entry], told: Sequence[Entry], offered: Entry | None) -> Eats:
    if len(told) >= 2 or (told and not any(e not in told for e in refused) and told[0].since(seen.on) >= 14):
        return Eats.OFF_FOOD
    if offered is None or offered.since(seen.on) > NOTES_STOP_DAYS:
        return Eats.NO_NOTES
    if refused and not told:
        return Eats.IN_SHED
    return Eats.EATING


def _in_shed(seen: History, day: date) -> bool:
    return any(0 <= (shed.on - day).days <= IN_SHED_DAYS for shed in seen.all(Kind.SHED, day))


def _gain_unnoted(seen: History, eaten: Entry | None) -> Entry | None:
    """The weighing before a gain that only an unnoted meal explains, when it is later than the last noted meal.

    The first weighings after a noted meal hold that meal, so only those from a week on are compared.
    """
    if eaten is None:
        return None
    later = [e for e in seen.all(Kind.WEIGHT, eaten.on) if e.since(seen.on) >= 0 and (e.on - eaten.on).days >= 7]
    found = None
    for i, (before, after) in enumerate(zip(later, later[1:], strict=False)):
        rose = (after.value or 0) >= (1 + GAINED_PERCENT / 100) * (before.value or 1)
        stays = all((e.value or 0) >= (1 + GAINED_PERCENT / 200) * (before.value or 1) for e in later[i + 2 : i + 3])
        recovers = i > 0 and (before.value or 0) < 0.97 * (later[i - 1].value or 0)
        if rose and stays and not recovers and believable(before, after):
            found = before
    return found
