"""Whether an animal eats: off food told apart from refusals in shed and from weeks when nobody took notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from eggtooth.engine.condition.weights import believable
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History

IN_SHED_DAYS = 14
NOTES_STOP_DAYS = 28
FED_DAYS = 7
EATING_AGAIN_DAYS = 16
STEADY_DAYS = 14
GAINED_PERCENT = 4.0
"""A gain of this much after the last noted meal means that it ate unnoted (scale error is 2 %: our
choice).
"""
HELD_PERCENT = 3.0
"""So does a mass this much above what a fast would have left of it after two weeks or more (our choice)."""


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
    """The weighing before a gain that only an unnoted meal explains, when it is later than the last noted
    meal.

    The first weighings after a noted meal hold that meal, so only those from a week on are compared.
    """
    if eaten is None:
        return None
    later = [e for e in seen.all(Kind.WEIGHT, eaten.on) if (e.on - eaten.on).days >= FED_DAYS and e.value]
    found = None
    for i, before in enumerate(later):
        for after in later[i + 1 :]:
            if _only_a_meal_explains(before, after) and not _refused_between(seen, before, after):
                found = before
    return found


def _only_a_meal_explains(before: Entry, after: Entry) -> bool:
    """A clear gain, or a mass over weeks well above what fasting leaves (0.12 % lost a day, McCue 2007)."""
    gain = 100 * ((after.value or 0) / (before.value or 1) - 1)
    days = (after.on - before.on).days
    held = days >= STEADY_DAYS and gain + biology.FASTING_LOSS.value * days >= HELD_PERCENT
    return believable(before, after) and (held or gain >= GAINED_PERCENT)


def _refused_between(seen: History, before: Entry, after: Entry) -> bool:
    offers = [e for e in seen.all(Kind.MEAL, before.on) if e.on <= after.on]
    return bool(offers)


def hungry_days(seen: History, appetite: Appetite, since: date) -> int:
    """Days of want on a clock that a meal sets back but does not clear, for a male who eats once in a fast.

    From the second week after a meal each day counts one; each day of the week after a meal takes some off.
    With one fast and no meal in it this is the days since the last meal. Two meals within
    `EATING_AGAIN_DAYS`, or a gain, clear it. Meals before `since` only start the clock. 0 without any meal.
    """
    taken = [e.on for e in seen.all(Kind.MEAL) if (e.value or 0) > 0]
    if not taken:
        return 0
    if appetite.last and appetite.last.kind is Kind.WEIGHT:
        since = max(since, appetite.last.on)
        taken = sorted({*taken, appetite.last.on})
    start = max((d for d in taken if d <= since), default=taken[0])
    clock, last = 0.0, start
    for on in [*(d for d in taken if d > start), seen.on]:
        days = (on - last).days
        if days <= EATING_AGAIN_DAYS and on != seen.on:
            clock, last = 0.0, on
            continue
        clock = max(0.0, clock - biology.MEAL_GIVES_BACK.value * min(FED_DAYS, days)) + max(
            0, days - FED_DAYS
        )
        last = on
    return max((seen.on - last).days, round(clock) + FED_DAYS if clock else 0)
