"""What an animal weighs, read from its weighings with one bad reading tolerated."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median

from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History

FASTEST_LOSS_PER_DAY = 0.012
FASTEST_GAIN_PER_DAY = 0.03
ONE_CLUTCH = 0.5
FAR_OFF = 0.6
SPIKE = 0.12
THEN_DAYS = 90
STALE_DAYS = 21


@dataclass(frozen=True, slots=True)
class Mass:
    """Mass in grams believed on a day, and the weighings it rests on; `doubtful` is a reading set aside."""

    mass_g: float
    entries: tuple[Entry, ...]
    doubtful: Entry | None = None

    @property
    def weighed(self) -> date:
        """Day of the weighing that counts."""
        return self.entries[-1].on


def believable(before: Entry, after: Entry) -> bool:
    """Whether `after` can follow `before`: no snake halves or doubles in a week.

    The room left is 12 % plus 1.2 % a day for a loss and 25 % plus 3 % a day for a gain (our choice, wide
    enough for a full belly, a shed and a clutch's worth after 30 days).
    """
    first, second = before.value or 0.0, after.value or 0.0
    if first <= 0 or second <= 0:
        return False
    days = max(1, (after.on - before.on).days)
    least = first * max(1 - ONE_CLUTCH, 0.88 - FASTEST_LOSS_PER_DAY * days)
    return least <= second <= first * (1.25 + FASTEST_GAIN_PER_DAY * days)


def mass_on(seen: History, since: date | None = None) -> Mass | None:
    """Mass on the history's day from its latest weighings; `None` when there is none.

    A last reading that cannot follow the one before is set aside as doubtful until a second one confirms it.
    """
    weighings = [e for e in seen.all(Kind.WEIGHT, since) if e.value]
    if not weighings:
        return None
    if len(weighings) == 1 or seen.last(Kind.LAID, weighings[-2].on):
        return Mass(weighings[-1].value or 0.0, (weighings[-1],))
    before, last = weighings[-2], weighings[-1]
    if believable(before, last) or (len(weighings) > 2 and not believable(weighings[-3], before)):
        return Mass(last.value or 0.0, (last,))
    return Mass(before.value or 0.0, (before,), doubtful=last)


def mass_around(seen: History, day: date, within_days: int = 45, until: date | None = None) -> Mass | None:
    """Median of up to three weighings nearest to a day, e.g. the season's start, none later than `until`.

    Weighings of another order than their neighbours, as by a digit lost, are left out.
    """
    span = timedelta(days=within_days)
    weighed = [e for e in seen.all(Kind.WEIGHT) if e.value]
    closest = sorted(weighed, key=lambda e: abs((e.on - day).days))[:5]
    usual = median([e.value or 0.0 for e in closest]) if len(closest) > 2 else None
    near = [e for e in closest if abs(e.on - day) <= span and (usual is None or _near(e, usual))]
    chosen = [e for e in near if until is None or e.on <= until][:3]
    if not chosen:
        return None
    return Mass(median(e.value or 0.0 for e in chosen), tuple(sorted(chosen, key=lambda e: e.on)))


def mass_then(seen: History, day: date, until: date) -> Mass | None:
    """What it weighed on a past day: the nearest weighing up to `until`, within 90 days.

    One that is older than three weeks is led on to the day along the line to the next weighing when that is
    heavier: a growing animal is not taken for the light one it was. Readings of another order than their
    neighbours, and single ones far above or below both, are left out.
    """
    weighed = _borne_out([e for e in seen.all(Kind.WEIGHT) if e.value])
    near = [e for e in weighed if e.on <= until and abs((e.on - day).days) <= THEN_DAYS]
    if not near:
        return None
    then = min(reversed(near), key=lambda e: abs((e.on - day).days))
    later = next((e for e in weighed if e.on > then.on), None)
    low, old = then.value or 0.0, (day - then.on).days
    if later is None or old <= STALE_DAYS or (later.on - day).days > THEN_DAYS:
        return Mass(low, (then,))
    gained = max(0.0, (later.value or 0.0) - low)
    return Mass(low + gained * old / (later.on - then.on).days, (then, later) if gained else (then,))


def _borne_out(weighed: Sequence[Entry]) -> list[Entry]:
    """Weighings that stand within 12 % of the range of their two neighbours; the ends are kept as they are
    unless of another order.
    """
    kept = []
    for i, entry in enumerate(weighed):
        around = [e.value or 0.0 for e in (*weighed[max(0, i - 1) : i], *weighed[i + 1 : i + 2])]
        slack = SPIKE if len(around) == 2 else 1 / FAR_OFF - 1
        if not around or min(around) / (1 + slack) < (entry.value or 0.0) < max(around) * (1 + slack):
            kept.append(entry)
    return kept


def _near(entry: Entry, usual_g: float) -> bool:
    """Whether a weighing is of the same order as its neighbours; a digit lost or doubled is not."""
    return FAR_OFF < (entry.value or 0.0) / usual_g < 1 / FAR_OFF


def loss_percent(start: Mass, now: Mass) -> float:
    """How much lighter than at the start, in percent; negative for a gain."""
    return 100 * (1 - now.mass_g / start.mass_g)
