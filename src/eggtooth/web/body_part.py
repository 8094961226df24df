"""What an animal's page shows of its body: mass, follicles or nights, meals, life; each also as a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from eggtooth.engine.condition.nights import night_of
from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.entries import Entry
from eggtooth.engine.facts import biology
from eggtooth.engine.house import latest
from eggtooth.jobs.body import FAN_EVERY_DAYS, Body, Follicles, Nights, body_of
from eggtooth.jobs.gather import Source
from eggtooth.web import season_page
from eggtooth.web.males_words import rest_said
from eggtooth.web.names import detail_said
from eggtooth.web.pictures import curves, life, nights, season
from eggtooth.web.pictures.axis import TimeAxis
from eggtooth.web.speech import spoken

LOOK_BACK_DAYS = 550
LATEST_MEALS, LATEST_WEIGHINGS, WEEKS_STEP = 30, 30, 4
GROWTH = (biology.GROWTH_EFFICIENCY, biology.WEIGHING_ERROR, biology.BAD_WEIGHING, biology.GUT_EMPTIES)
WEAR = (biology.MALE_REST_FROM, biology.MALE_REST_LATEST, biology.LOSS_WORRY, biology.LOSS_DRAMATIC)


def body_context(source: Source, tag: str, on: date) -> dict[str, Any]:
    """Everything the part of the template needs. Raises `KeyError` for an unknown tag."""
    body = body_of(source, tag, on)
    context = {
        "on": on,
        "mass": _mass(body, on),
        "life": life.life(body, on),
        "life_said": life.life_said(body),
        "meals": _meals(body, on),
        "facts": _facts(body),
    }
    if body.strip:
        context |= _season(source, body, on)
    if body.male and (body.male.nights or body.male.locks or body.male.wear.state is not WearState.FIT):
        context["male"] = _male(body, body.male, source, on)
    return context


def _facts(body: Body) -> list[object]:
    own = [fact for _, _, fact in body.thresholds if fact]
    more = season_page.FACTS if body.strip else WEAR if body.male else ()
    return [*own, *GROWTH, *more]


def _mass(body: Body, on: date) -> dict[str, Any]:
    """The mass picture and its table; a picture of nothing but a guess is not drawn."""
    weighed = [(e, trust) for e, trust in body.curve.weighings if e.on <= on]
    if not weighed:
        return {"picture": "", "table": (), "ahead": ()}
    axis = _mass_axis(body, weighed[0][0].on, on)
    return {
        "picture": curves.mass(body.curve, body.thresholds, axis, on),
        "table": [(e.on, f"{e.value:g}", trust > curves.TRUSTED) for e, trust in reversed(weighed)][
            :LATEST_WEIGHINGS
        ],
        "ahead": body.curve.ahead[::WEEKS_STEP],
    }


def _mass_axis(body: Body, first: date, on: date) -> TimeAxis:
    return TimeAxis(max(first, on - timedelta(days=LOOK_BACK_DAYS)), body.curve.ahead[-1][0])


def _meals(body: Body, on: date) -> dict[str, Any]:
    recent = [e for e in body.meals if (on - e.on).days <= 7 * life.MEAL_WEEKS]
    taken = sum(bool(e.value) for e in recent)
    return {
        "picture": life.meals(recent, body.sheds, on) if recent else "",
        "taken": taken,
        "refused": len(recent) - taken,
        "weeks": life.MEAL_WEEKS,
        "last": next((e for e in reversed(body.meals) if e.value), None),
        "table": [(e.on, *_meal_said(e)) for e in reversed(recent)][:LATEST_MEALS],
        "sheds": [e.on for e in reversed(body.sheds)][:6],
    }


def _meal_said(meal: Entry) -> tuple[str, str]:
    taken = spoken("took {prey:g}", prey=meal.value) if meal.value else spoken("refused")
    return taken, detail_said(meal)


def _season(source: Source, body: Body, on: date) -> dict[str, Any]:
    assert body.strip
    opens = latest(source.settings.season_opens, on)
    axis = season_page.axis_for((body.strip,), on, opens)
    found = {
        "row": season_page.row_of(body.strip, axis),
        "key": season_page.key(),
        "days": season.days(axis, on, len(season_page.NAMES)),
        "months": season.months(axis, on),
    }
    return found | ({"follicles": _follicles(body.follicles, on)} if body.follicles else {})


def _follicles(found: Follicles, on: date) -> dict[str, Any]:
    days = found.fan.days
    axis = TimeAxis(days[0], max(days[-1], on))
    rows = [(d, *q) for d, q in zip(days, found.fan.mm.tolist(), strict=True)]
    now = next((r for r in rows if abs((r[0] - on).days) <= FAN_EVERY_DAYS / 2), None)
    return {
        "picture": curves.follicles(found, axis, on),
        "hand": curves.in_the_hand((now[1], now[3], now[5]) if now else None),
        "now": spoken(
            "{mid:.0f} mm ({low:.0f} to {high:.0f}) now, if not ovulated",
            mid=now[3],
            low=now[1],
            high=now[5],
        )
        if now
        else spoken("most likely ovulated by now"),
        "scans": list(reversed(found.scans)),
        "table": [r for r in rows if r[0] >= on - timedelta(days=1)][::2],
    }


def _male(body: Body, male: Nights, source: Source, on: date) -> dict[str, Any]:
    wear = male.wear
    by = wear.rest_by
    axis = male_axis([male], source, on)
    eaten = next((e.on for e in reversed(body.meals) if e.value), None)
    inside = [p for p in body.curve.past if axis.holds(p[0])]
    return {
        "wear": wear,
        "nights": nights.nights(axis, on, male.nights, male.locks, by, eaten),
        "mass": curves.mass(body.curve, (), axis, on) if inside else "",
        "rest": rest_said(wear),
        "weeks": list(_by_week(male, on)),
        "entries": wear.entries,
    }


def male_axis(males: Sequence[Nights], source: Source, on: date) -> TimeAxis:
    """From the first night of the season to the last day any of them must rest by; at least two months."""
    start = [m.nights[0].on for m in males if m.nights]
    opens = latest(source.settings.season_opens, on)
    first = min(start, default=opens if opens > on - timedelta(days=200) else on - timedelta(days=60))
    ends = [m.wear.rest_by[2] for m in males if m.wear.rest_by]
    last = max([on + timedelta(days=21), *ends])
    return TimeAxis(min(first, on - timedelta(days=40)), min(last, on + timedelta(days=150)))


def _by_week(male: Nights, on: date) -> Iterator[tuple[date, int, int]]:
    """Nights in and nights with a lock, by week from Monday, latest first."""

    def monday(day: date) -> date:
        return day - timedelta(days=day.weekday())

    locked = {night_of(e) for e in male.locks}
    weeks = {monday(n.on) for n in male.nights} | {monday(d) for d in locked}
    for week in sorted(weeks, reverse=True):
        nights_in = {n.on for n in male.nights if monday(n.on) == week}
        yield week, len(nights_in), len({d for d in locked if monday(d) == week})
