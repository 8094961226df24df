"""The season that was at `/review`: forecasts as they stood then against what happened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from eggtooth.engine.entries import Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.review import Review, Tally, Told
from eggtooth.engine.review.chances import odds_of, reliability
from eggtooth.engine.spans import LEVELS
from eggtooth.engine.wording import say
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.long_work.asking import ask
from eggtooth.jobs.long_work.questions import review_asked
from eggtooth.web.asked import on_a_day
from eggtooth.web.drawn import drawn
from eggtooth.web.pictures import review as pictures
from eggtooth.web.speech import said, spoken
from eggtooth.web.waiting import asked_for, respond

NAMES = {
    Kind.OVULATION: (say("ovulation"), 1),
    Kind.PRELAY_SHED: (say("pre-lay shed"), 2),
    Kind.LAID: (say("eggs"), 3),
    Kind.PIPPED: (say("pips"), 4),
    Kind.RESTED: (say("male's rest"), 5),
}
GROUP_WEEKS, MISSES = 4, 12


@dataclass(frozen=True, slots=True)
class Row:
    """Forecasts of one milestone, told some weeks ahead."""

    what: str
    ahead: str
    n: int
    in_50: int
    in_90: int
    error: str
    came: str
    width: str


@require_safe
@on_a_day
def show(request: HttpRequest, on: date) -> HttpResponse:
    """The page; `season=this` looks at the one that is on, `on` picks the day."""
    this, source = request.GET.get("season") == "this", from_store()
    question = review_asked(source, this, on)
    outcome = ask(question, source, 0.0, wanted=asked_for(request))
    context: dict[str, object] = {"on": on, "this": this, "between": _between(source.settings, on, this)}
    if outcome.answer is not None:
        found = outcome.answer
        context["found"] = drawn(request, "review_found.html", found, this, lambda _: _context(found))
    return respond(request, "review.html", context, {question.digest: outcome})


def _between(settings: Settings, on: date, this: bool) -> tuple[date, date]:
    turn, day = settings.season_start(on), timedelta(days=1)
    return (turn, on) if this else (settings.season_start(turn - day), turn - day)


def _context(found: Review) -> dict[str, Any]:
    return {
        "review": found,
        "rows": _rows(found),
        "levels": _calibration(found),
        "calibration": pictures.calibration([(n, t, _shares(found, k)) for k, (n, t) in _told_kinds(found)]),
        "errors": pictures.errors([(n, t, _errors(found, k)) for k, (n, t) in _told_kinds(found)]),
        "misses": [(said(NAMES[t.what][0]), t) for t in _misses(found)],
        "key": [(pictures.sample(t), n) for _, (n, t) in _told_kinds(found)],
        "females": len({t.tag for t in found.told}),
        "chances": [
            (spoken("{low} to {high}", low=10 * tenth, high=10 * tenth + 10), o)
            for tenth, o in reliability(found.chances).items()
        ],
        "brier": odds_of(found.chances) if found.chances else None,
        "scores": found.scores,
    }


def _told_kinds(found: Review) -> list[tuple[Kind, tuple[str, int]]]:
    told = {t.what for t in found.told}
    return [(k, (said(name), tone)) for k, (name, tone) in NAMES.items() if k in told]


def _shares(found: Review, what: Kind) -> list[tuple[float, float]]:
    """For each level, the share of forecasts of which it had happened by the date of that level."""
    mine = [t for t in found.told if t.what is what]
    dates = [(t.happened.on, (t.span.q05, t.span.q25, t.span.q50, t.span.q75, t.span.q95)) for t in mine]
    return [(p, sum(on <= q[i] for on, q in dates) / len(dates)) for i, p in enumerate(LEVELS)]


def _calibration(found: Review) -> list[tuple[str, list[int]]]:
    """The same as rows of a table, in percent."""
    return [(n, [round(100 * s) for _, s in _shares(found, k)]) for k, (n, _) in _told_kinds(found)]


def _errors(found: Review, what: Kind) -> list[tuple[float, float]]:
    """Mean error in days by the middle of each group of weeks ahead."""
    return [
        (GROUP_WEEKS * (four + 0.5), sum(t.error_days * t.n for t in told) / sum(t.n for t in told))
        for (kind, four), told in _grouped(found).items()
        if kind is what
    ]


def _grouped(found: Review) -> dict[tuple[Kind, int], list[Tally]]:
    groups: dict[tuple[Kind, int], list[Tally]] = {}
    for tally in found.tallies:
        groups.setdefault((tally.what, tally.weeks_ahead // GROUP_WEEKS), []).append(tally)
    return groups


def _rows(found: Review) -> list[Row]:
    return [_row(said(NAMES[what][0]), GROUP_WEEKS * four, t) for (what, four), t in _grouped(found).items()]


def _row(what: str, first: int, tallies: Sequence[Tally]) -> Row:
    n = sum(t.n for t in tallies)
    error, shift, width = (
        sum(getattr(t, name) * t.n for t in tallies) / n
        for name in ("error_days", "shift_days", "width_90_days")
    )
    came = (
        spoken("{days:.0f} d later" if shift > 0 else "{days:.0f} d sooner", days=abs(shift))
        if abs(shift) >= 0.5
        else spoken("on time")
    )
    shares = [round(100 * sum(getattr(t, name) for t in tallies) / n) for name in ("in_50", "in_90")]
    ahead = spoken("{low} to {high}", low=first, high=first + GROUP_WEEKS - 1)
    return Row(
        what,
        ahead,
        n,
        shares[0],
        shares[1],
        spoken("{days:.0f} d", days=error),
        came,
        spoken("{days:.0f} d", days=width),
    )


def _misses(found: Review) -> list[Told]:
    return sorted((t for t in found.told if _off(t)), key=_off, reverse=True)[:MISSES]


def _off(told: Told) -> int:
    """Days by which it fell outside the 90 % span."""
    on = told.happened.on
    return max(0, (told.span.q05 - on).days, (on - told.span.q95).days)
