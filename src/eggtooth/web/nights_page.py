"""Tonight and the coming nights at `/nights`: who goes to whom and why, as threads through the room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from eggtooth.engine.colony import Colony, Tub
from eggtooth.engine.planning.coming import ComingNight
from eggtooth.engine.planning.nights import Action, Move
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.rotation import rotation
from eggtooth.web.clock import day_asked, today
from eggtooth.web.pictures.room import Thread, room
from eggtooth.web.speech import said

NIGHTS = 8
TOGETHER = (Action.MOVE_IN, Action.LEAVE_IN)


@dataclass(frozen=True, slots=True)
class Shown:
    """One night as the page draws it: the pairs that spend it together, and who goes home."""

    on: date
    pairing: bool
    together: tuple[Move, ...]
    parted: tuple[Move, ...]


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The page; `on` picks the day."""
    try:
        on = day_asked(request)
    except ValueError as refused:
        return HttpResponseBadRequest(said(str(refused)))
    source = from_store()
    nights = rotation(source, on, NIGHTS)
    context = {
        "on": on,
        "today": today(),
        "before": on - timedelta(days=1),
        "after": on + timedelta(days=1),
        "picture": _picture(source.colony, nights[0]),
        "tonight": _shown(nights[0]),
        "coming": [_shown(n) for n in nights[1:]],
        "planned": bool(source.settings.plan_on(today())),
        "empty": not source.colony.animals,
    }
    return render(request, "nights.html", context)


def _shown(night: ComingNight) -> Shown:
    together = tuple(m for m in night.moves if m.action in TOGETHER)
    return Shown(night.on, night.pairing, together, _of(night.moves, Action.PART))


def _of(moves: Sequence[Move], action: Action) -> tuple[Move, ...]:
    return tuple(m for m in moves if m.action is action)


def _picture(colony: Colony, night: ComingNight) -> SafeString:
    """The racks that tonight's pairs sit in, with everyone who has a tub there."""
    where = {a.tag: colony.tub_of(a.tag, night.on) for a in colony.here(night.on)}
    tubs: dict[str, Tub] = {tag: tub for tag, tub in where.items() if tub}
    pairs = [m for m in night.moves if m.action in TOGETHER]
    return room(tubs, [Thread(m.male, m.female, m.action is Action.LEAVE_IN) for m in pairs])
