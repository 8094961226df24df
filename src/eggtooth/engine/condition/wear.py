"""How a breeding male holds up: mass against the season's start, days since he ate, nights in, locks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from eggtooth.engine.condition.weights import Mass, loss_percent, mass_around, mass_on
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.spans import ago


class WearState(StrEnum):
    """What a male's condition asks for."""

    FIT = "fit"
    WATCH = "watch"
    REST = "rest now"
    RESTING = "resting"


@dataclass(frozen=True, slots=True)
class Wear:
    """A male's condition on a day; `rest_by` holds the 5, 50 and 95 % dates, `None` when not breeding."""

    state: WearState
    why: str
    entries: tuple[Entry, ...]
    loss: float | None
    days_since_meal: int | None
    nights_in: int
    locks: int
    rest_by: tuple[date, date, date] | None


def wear_of(seen: History, settings: Settings) -> Wear:
    """Condition of one male from his own entries.

    Common practice rests him 60 to 90 days after his last meal while breeding, a big male later within that
    range, and at once on dramatic loss; the limit used is 60 days up to 800 g and 90 days from 1100 g.
    """
    start = settings.season_start(seen.on)
    paired = seen.first(Kind.PAIRED, start) or seen.first(Kind.LOCK, start)
    now = mass_on(seen, start - timedelta(days=60))
    first = mass_around(seen, paired.on if paired else start)
    loss = loss_percent(first, now) if first and now and first.weighed <= now.weighed else None
    fasting, eaten = _fasting(seen, paired)
    state, why, basis = _verdict(seen, settings, paired, now, loss, fasting, eaten)
    nights, locks = _nights_in(seen, start), len({e.on for e in seen.all(Kind.LOCK, start)})
    by = _rest_by(settings, now, eaten) if paired and eaten else None
    return Wear(state, why, basis, loss, fasting, nights, locks, by)


def rest_limit_days(settings: Settings, mass: Mass | None) -> float:
    """Days without a meal after which a breeding male is rested."""
    if mass is None:
        return settings.male_rest_days
    extra = min(1.0, max(0.0, (mass.mass_g - settings.male_best_g - 100) / 300))
    return settings.male_rest_days + extra * (settings.male_rest_days_latest - settings.male_rest_days)


def _fasting(seen: History, paired: Entry | None) -> tuple[int | None, Entry | None]:
    """Days since he last ate, and the entry counted from: his first night in, when no meal was taken."""
    eaten = seen.last_meal()
    if eaten is None and seen.all(Kind.MEAL):
        eaten = paired or seen.all(Kind.MEAL)[0]
    return (eaten.since(seen.on), eaten) if eaten else (None, paired)


def _verdict(
    seen: History,
    settings: Settings,
    paired: Entry | None,
    now: Mass | None,
    loss: float | None,
    fasting: int | None,
    eaten: Entry | None,
) -> tuple[WearState, str, tuple[Entry, ...]]:
    rested = seen.last(Kind.RESTED, settings.season_start(seen.on))
    if rested:
        return WearState.RESTING, f"rested since {rested.on:%-d %b}", (rested,)
    if loss is not None and now and loss >= settings.loss_dramatic_percent:
        text = f"lost {loss:.0f} % since the season began; dramatic loss is rested at once (common practice)"
        return WearState.REST, text, now.entries
    if now and now.doubtful and (now.doubtful.value or 0) < now.mass_g:
        text = f"{now.doubtful.value:g} g does not follow {now.mass_g:g} g; weigh again before he goes out"
        return WearState.WATCH, text, (*now.entries, now.doubtful)
    limit = rest_limit_days(settings, now)
    days = fasting if fasting is not None else (eaten.since(seen.on) if eaten else None)
    if paired and days is not None and eaten and days >= limit:
        what = (
            "last meal"
            if fasting is not None and eaten.kind is Kind.MEAL
            else "no meal noted, first night in"
        )
        rule = f"a breeding male of his size is rested from {limit:.0f} days (common practice)"
        text = f"{what} {ago(days)}; {rule}"
        return WearState.REST, text, (eaten,)
    return _mild(settings, now, loss, days, limit, eaten)


def _mild(
    settings: Settings,
    now: Mass | None,
    loss: float | None,
    days: int | None,
    limit: float,
    eaten: Entry | None,
) -> tuple[WearState, str, tuple[Entry, ...]]:
    basis = tuple(e for e in ((now.entries[-1] if now else None), eaten) if e)
    if loss is not None and loss >= settings.loss_worry_percent:
        return WearState.WATCH, f"lost {loss:.0f} % since the season began", basis
    if days is not None and days >= limit - 14:
        return WearState.WATCH, f"last ate {ago(days)}", basis
    parts = [f"ate {ago(days)}" if days is not None else "no meal noted"]
    if now:
        parts.insert(0, f"{now.mass_g:.0f} g")
    return WearState.FIT, ", ".join(parts), basis


def _rest_by(settings: Settings, now: Mass | None, eaten: Entry) -> tuple[date, date, date]:
    low, high = settings.male_rest_days, settings.male_rest_days_latest
    middle = min(high, max(low, rest_limit_days(settings, now)))
    return (
        eaten.on + timedelta(days=round(low)),
        eaten.on + timedelta(days=round(middle)),
        eaten.on + timedelta(days=round(high)),
    )


def _nights_in(seen: History, since: date) -> int:
    """Nights with a female since a day; a sitting counts until it was parted or he was put elsewhere."""
    nights: set[date] = set()
    opened: date | None = None
    for entry in sorted((*seen.all(Kind.PAIRED, since), *seen.all(Kind.PARTED, since)), key=lambda e: e.on):
        if opened is not None:
            nights.update(opened + timedelta(days=n) for n in range(min(14, (entry.on - opened).days)))
        opened = entry.on if entry.kind is Kind.PAIRED else None
    if opened is not None:
        nights.update(opened + timedelta(days=n) for n in range(min(14, (seen.on - opened).days)))
    return len(nights)


BASIS = (biology.MALE_REST_FROM, biology.MALE_REST_LATEST, biology.LOSS_DRAMATIC)
"""The facts this module rests on."""
