"""The order of prey at `/feeders`: how many of each size the coming weeks need, with the spread."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import groupby
from operator import attrgetter

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from eggtooth.engine.facts import biology
from eggtooth.engine.planning.feeders import Need
from eggtooth.jobs import answered
from eggtooth.jobs.gather import from_store
from eggtooth.web.asked import on_a_day
from eggtooth.web.days import day_month
from eggtooth.web.pictures import bars

CHOICES, USUAL = (4, 6, 8, 12, 26), 6
FACTS = (
    biology.HATCHLING_SHARE,
    biology.YOUNG_SHARE,
    biology.ADULT_SHARE,
    biology.MEDIUM_RAT,
    biology.HATCHLING_INTERVAL,
    biology.YOUNG_INTERVAL,
    biology.ADULT_INTERVAL,
    biology.MALE_SEASON_INTERVAL,
    biology.FEMALE_SEASON_INTERVAL,
)


@dataclass(frozen=True, slots=True)
class Row:
    """One size of prey over the weeks; `None` where none is needed."""

    prey: str
    mean: int
    picture: SafeString
    cells: tuple[Need | None, ...]


@require_safe
@on_a_day
def show(request: HttpRequest, on: date) -> HttpResponse:
    """The page; `weeks` says how far to look, `on` picks the day."""
    weeks = _weeks(request.GET.get("weeks", ""))
    found = answered.needs(from_store(), on, weeks)
    starts = sorted({n.week for n in found})
    rows = [_row(prey, found, starts) for prey in _sizes(found)]
    context = {
        "on": on,
        "weeks": weeks,
        "choices": CHOICES,
        "starts": starts,
        "rows": rows,
        "total": sum(r.mean for r in rows),
        "facts": FACTS,
    }
    return render(request, "feeders.html", context)


def _weeks(text: str) -> int:
    """How many weeks; anything that is not offered is the usual."""
    return int(text) if text in {str(c) for c in CHOICES} else USUAL


def _sizes(found: list[Need]) -> list[str]:
    """Prey sizes from small to large."""
    order_of: dict[str, int] = {name: i for i, (_, name) in enumerate(biology.PREY_G)}
    by_size = sorted(found, key=lambda n: order_of[n.prey])
    return [prey for prey, _ in groupby(by_size, key=attrgetter("prey"))]


def _row(prey: str, found: list[Need], starts: list[date]) -> Row:
    mine = {n.week: n for n in found if n.prey == prey}
    cells = tuple(mine.get(s) for s in starts)
    counts = [(n.q05, n.q50, n.q95) if n else (0, 0, 0) for n in cells]
    mean = round(sum(n.mean for n in mine.values()))
    return Row(prey, mean, bars.counts(counts, [day_month(s) for s in starts]), cells)
