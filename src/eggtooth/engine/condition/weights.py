"""What an animal weighs, read from its weighings with one bad reading tolerated."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median

from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History

FASTEST_LOSS_PER_DAY = 0.012
FASTEST_GAIN_PER_DAY = 0.03
ONE_CLUTCH = 0.5
FAR_OFF = 0.6


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


def _near(entry: Entry, usual_g: float) -> bool:
    """Whether a weighing is of the same order as its neighbours; a digit lost or doubled is not."""
    return FAR_OFF < (entry.value or 0.0) / usual_g < 1 / FAR_OFF


def loss_percent(start: Mass, now: Mass) -> float:
    """How much lighter than at the start, in percent; negative for a gain."""
    return 100 * (1 - now.mass_g / start.mass_g)
