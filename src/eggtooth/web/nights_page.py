"""Tonight and the coming nights at `/nights`: who goes to whom and why, as threads through the room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from eggtooth.engine.colony import Colony, Tub
from eggtooth.engine.planning.coming import ComingNight
from eggtooth.engine.planning.nights import Action, Move
from eggtooth.jobs import answered
from eggtooth.jobs.gather import from_store
from eggtooth.web.asked import Page, on_a_day
from eggtooth.web.clock import today
from eggtooth.web.drawn import Keys, drawn
from eggtooth.web.pictures.room import Thread, room

NIGHTS, PER_PAGE = 8, 40
TOGETHER = (Action.MOVE_IN, Action.LEAVE_IN)


@dataclass(frozen=True, slots=True)
class Shown:
    """One night as the page draws it: pairs that spend it together, who goes home, how many pairs in all."""

    on: date
    pairing: bool
    together: tuple[Move, ...]
    parted: tuple[Move, ...]
    pairs: int
    whole: bool


@require_safe
@on_a_day
def show(request: HttpRequest, on: date) -> HttpResponse:
    """The page; `on` picks the day, `night` one of the nights to come to be shown in full."""
    source = from_store()
    nights = answered.nights(source, on, NIGHTS)
    night = _night_asked(request, nights)
    asked = Page.asked(request, PER_PAGE)

    def context(_: Keys) -> dict[str, object]:
        page = asked.of(max(len(_together(night)), len(_of(night.moves, Action.PART))))
        return {
            "on": on,
            "picture": _picture(source.colony, night, page),
            "tonight": _shown(night, page),
            "ahead": night.on != on,
            "coming": [_shown(n) for n in nights if n is not night and n.on > on],
            "planned": bool(source.settings.plan_on(today())),
            "empty": not source.colony.animals,
            "page": page,
            "page_more": f"&night={night.on.isoformat()}" if night.on != on else "",
        }

    # What the page says of the plan rests on the settings, which the answer was worked out for.
    main = drawn(request, "nights_main.html", nights, (on, night.on, asked), context)
    days = {"before": on - timedelta(days=1), "after": on + timedelta(days=1), "today": today()}
    return render(request, "nights.html", {"on": on, "main": main, **days})


def _night_asked(request: HttpRequest, nights: Sequence[ComingNight]) -> ComingNight:
    """The night asked for by its date; tonight for any other."""
    asked = request.GET.get("night", "")
    return next((n for n in nights if n.on.isoformat() == asked), nights[0])


def _shown(night: ComingNight, page: Page | None = None) -> Shown:
    """One part of a night; without a part all of it, or nothing where that is too long among others."""
    together, parted = _together(night), _of(night.moves, Action.PART)
    whole = max(len(together), len(parted)) <= PER_PAGE
    part = slice(page.first, page.first + PER_PAGE) if page else slice(PER_PAGE if whole else 0)
    return Shown(night.on, night.pairing, together[part], parted[part], len(together), whole)


def _together(night: ComingNight) -> tuple[Move, ...]:
    return tuple(m for m in night.moves if m.action in TOGETHER)


def _of(moves: Sequence[Move], action: Action) -> tuple[Move, ...]:
    return tuple(m for m in moves if m.action is action)


def _picture(colony: Colony, night: ComingNight, page: Page) -> SafeString:
    """The racks that a part of a night's pairs sit in, with everyone who has a tub there."""
    where = {a.tag: colony.tub_of(a.tag, night.on) for a in colony.here(night.on)}
    tubs: dict[str, Tub] = {tag: tub for tag, tub in where.items() if tub}
    pairs = _together(night)[page.first : page.first + PER_PAGE]
    return room(tubs, [Thread(m.male, m.female, m.action is Action.LEAVE_IN) for m in pairs])
