"""How a breeding male holds up: mass against the season's start, days since he ate, nights in, locks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise

from eggtooth.engine.condition.appetite import FED_DAYS, Appetite, Eats, appetite_of, hungry_days
from eggtooth.engine.condition.endurance import Asked, rest_span
from eggtooth.engine.condition.intake import IN_GUT_DAYS, gut_share
from eggtooth.engine.condition.nights import nights_in
from eggtooth.engine.condition.trend import Trend, trend_of
from eggtooth.engine.condition.weights import Mass, loss_percent, mass_around, mass_on, mass_then
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.spans import ago
from eggtooth.engine.wording import joined, say

START_DAYS = 7
LATE_WEIGHED_SHARE = 0.88
"""What of a mass first read weeks into the season is counted at its start (our choice)."""
LIGHT_SHARE = -1 / 3
"""How far below the usual 60 days a light male's limit may lie, as a share of the range of 30 days."""


EATS_SAID = {Eats.OFF_FOOD: say("off food"), Eats.IN_SHED: say("refuses in shed")}


class WearState(StrEnum):
    """What a male's condition asks for."""

    FIT = "fit"
    WATCH = "watch"
    REST = "rest now"
    RESTING = "resting"


@dataclass(frozen=True, slots=True)
class Wear:
    """A male's condition on a day."""

    state: WearState
    why: str
    entries: tuple[Entry, ...]
    loss: float | None
    days_since_meal: int | None
    nights_in: int
    locks: int
    asks: Asked | None

    @property
    def rest_by(self) -> tuple[date, date, date] | None:
        """The 5, 50 and 95 % dates by which he must rest; `None` when he is not breeding. Worked out when
        asked.
        """
        if self.asks is None:
            return None
        low, mid, high = rest_span(self.asks)
        return low, mid, high


@dataclass(frozen=True, slots=True)
class Male:
    """What a verdict on a male rests on."""

    seen: History
    settings: Settings
    paired: Entry | None
    now: Mass | None
    first: Mass | None
    loss: float | None
    trend: Trend | None
    appetite: Appetite
    eaten: Entry | None
    limit: float
    hungry: int

    @property
    def days(self) -> int | None:
        """Days without food, counted from `eaten`."""
        return self.eaten.since(self.seen.on) if self.eaten else None


def wear_of(seen: History, settings: Settings) -> Wear:
    """Condition of one male from his own entries.

    Common practice rests him 60 to 90 days after his last meal while breeding, a big male later within that
    range, and at once on dramatic loss. Loss is read from the trend of his weighings, so that one bad reading
    does not rest him; the days are counted from his last meal, noted or shown by a gain.
    """
    male = _male(seen, settings)
    state, why, basis = _verdict(male)
    start = settings.season_start(seen.on)
    nights, locks = len(nights_in(seen, start)), len({e.on for e in seen.all(Kind.LOCK, start)})
    fasting = male.days if seen.all(Kind.MEAL) else None
    return Wear(state, why, basis, male.loss, fasting, nights, locks, _asks(male))


def rest_limit_days(settings: Settings, mass: Mass | None) -> float:
    """Days without a meal after which a breeding male is rested, by his mass: 60 to 90 unless set otherwise.

    A male under 650 g rests up to ten days sooner (our choice).
    """
    low, high = settings.male_rest_days, settings.male_rest_days_latest
    usual_low, usual_high = biology.MALE_REST_FROM.value, biology.MALE_REST_LATEST.value
    share = (_days_by_mass(mass.mass_g) - usual_low) / (usual_high - usual_low) if mass else 0.0
    return low + min(1.0, max(LIGHT_SHARE, share)) * max(0.0, high - low)


def _days_by_mass(mass_g: float) -> float:
    table = biology.MALE_REST_BY_MASS
    if mass_g <= table[0][0]:
        return table[0][1]
    for (g0, d0), (g1, d1) in pairwise(table):
        if mass_g <= g1:
            return d0 + (d1 - d0) * (mass_g - g0) / (g1 - g0)
    return table[-1][1]


def _male(seen: History, settings: Settings) -> Male:
    start = settings.season_start(seen.on)
    paired = seen.first(Kind.PAIRED, start) or seen.first(Kind.LOCK, start)
    now = mass_on(seen, start - timedelta(days=60))
    begun = paired.on if paired else start
    early = begun + timedelta(days=START_DAYS)
    weighed = _empty(mass_then(seen, begun, early), seen)
    first = weighed or mass_around(seen, begun, 90)
    trend = trend_of(seen)
    loss = _loss(first, now, trend)
    appetite = appetite_of(seen)
    return Male(
        seen,
        settings,
        paired,
        now,
        first,
        loss,
        trend,
        appetite,
        _counted_from(seen, appetite, paired),
        rest_limit_days(settings, weighed or _careful(first or now)),
        hungry_days(seen, appetite, begun),
    )


def _empty(mass: Mass | None, seen: History) -> Mass | None:
    """A mass without the meal that lay in the gut at the weighing: a fast takes from the rest."""
    if mass is None:
        return None
    day = mass.entries[0].on
    meals = (e for e in seen.all(Kind.MEAL, day - timedelta(days=IN_GUT_DAYS)) if e.on <= day)
    share = sum(gut_share(meal, day, mass.mass_g) for meal in meals)
    return replace(mass, mass_g=mass.mass_g / (1 + share))


def _careful(mass: Mass | None) -> Mass | None:
    """A mass first read weeks into the season, taken as lighter: he may have gained since then."""
    return replace(mass, mass_g=LATE_WEIGHED_SHARE * mass.mass_g) if mass else None


def _loss(first: Mass | None, now: Mass | None, trend: Trend | None) -> float | None:
    """Loss in percent since the season's start, by the last weighing and by the trend of the last weeks:
    the less.

    One reading too low, or a trend bent by one, then does not rest him; a real loss shows in both.
    """
    if first is None or now is None or first.weighed > now.weighed:
        return None
    plain = loss_percent(first, now)
    return min(plain, 100 * (1 - trend.mass_g / first.mass_g)) if trend else plain


def _counted_from(seen: History, appetite: Appetite, paired: Entry | None) -> Entry | None:
    """The last meal; his first night in when meals are noted but none was taken, or none is noted at all."""
    if appetite.last is None and seen.all(Kind.MEAL):
        return paired or seen.all(Kind.MEAL)[0]
    return appetite.last or paired


def _verdict(male: Male) -> tuple[WearState, str, tuple[Entry, ...]]:
    now, settings = male.now, male.settings
    rested = male.seen.last(Kind.RESTED, settings.season_start(male.seen.on))
    if rested:
        return WearState.RESTING, say("rested since {on:%-d %b}", on=rested.on), (rested,)
    if male.loss is not None and now and male.loss >= settings.loss_dramatic_percent:
        rule = say("dramatic loss is rested at once (common practice)")
        text = say("lost {loss:.0f} % since the season began; {rule}", loss=male.loss, rule=rule)
        return WearState.REST, text, now.entries
    if male.paired and male.days is not None and male.eaten and male.days >= male.limit:
        rule = say(
            "a breeding male of his size is rested from {limit:.0f} days (common practice)", limit=male.limit
        )
        since = say("{since} {ago}; {rule}", since=_since(male), ago=ago(male.days), rule=rule)
        return WearState.REST, since, (male.eaten,)
    if (
        male.paired
        and male.eaten
        and male.hungry >= male.limit
        and (male.days or 0) > FED_DAYS
        and male.appetite.last is male.eaten
    ):
        text = say(
            "ate {ago}, but little in a long fast, like {hungry} days without",
            ago=ago(male.days or 0),
            hungry=male.hungry,
        )
        return (
            WearState.REST,
            say("{text}, and he is rested from {limit:.0f} (our choice)", text=text, limit=male.limit),
            (male.eaten,),
        )
    return _mild(male)


def _since(male: Male) -> str:
    """What the days are counted from, in words."""
    entry = male.eaten
    if (
        entry is None
        or entry.kind in (Kind.PAIRED, Kind.LOCK)
        or (entry.kind is Kind.MEAL and not entry.value)
    ):
        return say("no meal noted, first night in")
    if entry.kind is Kind.WEIGHT:
        return say("no meal noted since, but he gained after the weighing")
    return say("last meal")


def _mild(male: Male) -> tuple[WearState, str, tuple[Entry, ...]]:
    now, days = male.now, male.days
    if now and now.doubtful and (now.doubtful.value or 0) < now.mass_g:
        text = say(
            "{odd:g} g does not follow {before:g} g; weigh again before he goes out",
            odd=now.doubtful.value,
            before=now.mass_g,
        )
        return WearState.WATCH, text, (*now.entries, now.doubtful)
    fasting = days if male.seen.all(Kind.MEAL) else None
    basis = tuple(e for e in ((now.entries[-1] if now else None), male.eaten) if e)
    if male.loss is not None and male.loss >= male.settings.loss_worry_percent:
        return WearState.WATCH, say("lost {loss:.0f} % since the season began", loss=male.loss), basis
    if male.paired and days is not None and days >= male.limit - 14:
        return (
            WearState.WATCH,
            joined("", (say("last ate {ago}", ago=ago(days)), _gap_said(male))),
            basis,
        )
    parts = [
        joined("", (say("ate {ago}", ago=ago(fasting)), _gap_said(male)))
        if fasting is not None
        else say("no meal noted")
    ]
    if now:
        parts.insert(0, say("{mass_g:.0f} g", mass_g=now.mass_g))
    if male.appetite.eats in (Eats.OFF_FOOD, Eats.IN_SHED):
        parts.append(EATS_SAID[male.appetite.eats])
    return WearState.FIT, joined(", ", parts), basis


def _gap_said(male: Male) -> str:
    """A word about notes that stopped: then nobody knows whether he ate, and the count is the careful one."""
    offered = male.appetite.offered
    if male.appetite.eats is not Eats.NO_NOTES or offered is None or not male.paired:
        return ""
    return say(" as far as noted; no offer noted for {days} days", days=offered.since(male.seen.on))


def _asks(male: Male) -> Asked | None:
    """What his rest-by dates rest on; `None` when he is not breeding."""
    if male.paired is None or male.eaten is None:
        return None
    first = male.first or male.now
    dramatic_g = first.mass_g * (1 - male.settings.loss_dramatic_percent / 100) if first else None
    eats = male.appetite.eats is Eats.EATING and male.eaten.since(male.seen.on) <= 14
    return Asked(
        on=male.seen.on,
        counted_from=male.eaten.on,
        first_in=male.paired.on if eats else None,
        limit_days=male.limit,
        range_days=(male.settings.male_rest_days, male.settings.male_rest_days_latest),
        trend=male.trend,
        dramatic_g=dramatic_g,
    )


BASIS = (biology.MALE_REST_FROM, biology.MALE_REST_LATEST, biology.LOSS_DRAMATIC)
"""The facts this module rests on."""
