"""The house's own rates at `/rates`: by the facts, in use, and what its finished seasons say; dated choices.

Working them out takes long in a large house, so the page shows what there is and begins only when asked
(`work=out`). What is kept is what the page showed: it goes along in the form, signed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from django.core import signing
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from eggtooth.engine.cycle.habit import Habit, Range
from eggtooth.engine.cycle.parameters import Parameter, figures
from eggtooth.engine.cycle.prior import PRIOR, read
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.learn import Lesson, choices_past, use
from eggtooth.jobs.long_work import asking
from eggtooth.jobs.long_work.questions import lesson_asked
from eggtooth.records import store
from eggtooth.web.clock import today
from eggtooth.web.days import day_month
from eggtooth.web.doors import keeper_of
from eggtooth.web.speech import number, said, spoken, spoken_n
from eggtooth.web.waiting import asked_for, respond

SIGNED, SIGNED_SECONDS = "rates", 7 * 24 * 3600
MOST_HABITS = 60
PAGE_SECONDS = 60.0


@dataclass(frozen=True, slots=True)
class Row:
    """One figure as the table shows it."""

    name: str
    by_facts: str
    in_use: str
    here: str
    spread: str
    seasons: int | None


@dataclass(frozen=True, slots=True)
class HabitRow:
    """One female beside the house."""

    tag: str
    seasons: int
    starts: str
    slow: str
    fast: str


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The page."""
    source = from_store()
    question = lesson_asked(source, today())
    if asked_for(request):
        outcome = asking.ask(question, source, PAGE_SECONDS, wanted=True)
    else:
        outcome = asking.look(question, source)
    lesson, now, start = outcome.answer, source.settings.learned_rates, question.on
    past = choices_past()
    context: dict[str, object] = {
        "rows": _rows(lesson, now, start),
        "lesson": lesson,
        "current": outcome.current,
        "in_use": now,
        "same": bool(lesson) and lesson.rates == now,
        "mine": keeper_of(request).role == "owner",
        "past": [(n, s) for n, s in reversed(list(enumerate(past, 1)))],
        "count": len(past),
        "until": start - timedelta(days=1),
    }
    if lesson:
        context |= {"signed": signing.dumps(lesson.rates, salt=SIGNED), "habits": _habits(lesson, start)}
        context["habits_more"] = max(0, len(lesson.habits) - MOST_HABITS)
    return respond(request, "rates.html", context, {question.digest: replace(outcome, unasked=False)})


@require_POST
def choose(request: HttpRequest) -> HttpResponse:
    """Put in force what the page showed, or a former choice again; `seen` is how many choices it showed."""
    past, says = choices_past(), request.POST.get("says", "")
    if request.POST.get("seen") != str(len(past)):
        return HttpResponse(
            spoken("Other rates were chosen by somebody else meanwhile; look at the page again."), status=409
        )
    try:
        rates = _signed(request.POST.get("rates", "")) if says == "use" else _former(past, says)
        use(store.settings(), rates, keeper_of(request).name)
    except (ValueError, signing.BadSignature):
        return HttpResponseBadRequest(spoken("This button is not known here; load the page again."))
    return redirect("rates")


def _signed(text: str) -> str:
    rates: str = signing.loads(text, salt=SIGNED, max_age=SIGNED_SECONDS)
    return rates


def _former(past: Sequence[store.Setting], says: str) -> str:
    """Rates of the choice of that number, counted from one; before all others stand the facts."""
    if not (says.isascii() and says.isdecimal() and int(says) <= len(past)):
        raise ValueError(f"{says!r} is no former choice")
    return past[int(says) - 1].settings.learned_rates if int(says) else ""


def _rows(lesson: Lesson | None, now: str, start: date) -> list[Row]:
    told: dict[str, Parameter] = {p.name: p for p in lesson.parameters} if lesson else {}
    used = dict(figures(read(now)))
    return [_row(name, fact, used[name], told.get(name), start) for name, fact in figures(PRIOR)]


def _row(name: str, fact: float, used: float, told: Parameter | None, start: date) -> Row:
    by_facts, in_use = (_figure(name, value, start) for value in (fact, used))
    if told is None:
        return Row(said(name), by_facts, in_use, "", "", None)
    here, low, high = (_figure(name, value, start) for value in (told.now, *told.now_90))
    return Row(said(name), by_facts, in_use, here, spoken("{low} to {high}", low=low, high=high), told.n)


def _mm_day(value: float, start: date) -> str:
    return spoken("{value:.2f} mm a day", value=value)


def _mm(value: float, start: date) -> str:
    return spoken("{value:.1f} mm", value=value)


def _days(value: float, start: date) -> str:
    return spoken("{value:.1f} days", value=value)


def _share(value: float, start: date) -> str:
    return number(f"{value:.0%}")


def _day_of_year(value: float, start: date) -> str:
    return day_month(start + timedelta(days=round(value)))


WRITTEN: dict[str, tuple[str, Callable[[float, date], str]]] = {
    "day she reaches 12 mm": ("", _day_of_year),
    "growth from 12 to 25 mm": ("", _mm_day),
    "growth from 25 mm to ovulation": ("", _mm_day),
    "slow growth turns to fast at": ("", _mm),
    "ovulation to pre-lay shed": ("", _days),
    "pre-lay shed to eggs": ("", _days),
    "day she reaches 12 mm, between females": ("± ", _days),
    "turn, between females": ("± ", _mm),
    "ovulation to pre-lay shed, between females": ("± ", _days),
    "growth from 12 to 25 mm, between females": ("± ", _share),
    "growth from 25 mm, between females": ("± ", _share),
    "pre-lay shed to eggs, between females": ("± ", _share),
}
"""How each figure is written; those not named here are shares."""


def _figure(name: str, value: float, start: date) -> str:
    sign, write = WRITTEN.get(name, ("", _share))
    return sign + write(value, start)


def _habits(lesson: Lesson, start: date) -> list[HabitRow]:
    """Those first whose start lies furthest from the house's."""
    house = lesson.learned.rates.starts.mean
    far = sorted(lesson.habits.items(), key=lambda one: (-abs(one[1].starts[1] - house), one[0]))
    return [_habit(tag, habit, house, start) for tag, habit in far[:MOST_HABITS]]


def _habit(tag: str, habit: Habit, house: float, start: date) -> HabitRow:
    low, mid, high = (day_month(start + timedelta(days=round(v))) for v in habit.starts)
    off = round(habit.starts[1] - house)
    if off:
        later = spoken_n("{n} day later", "{n} days later", n=off) if off > 0 else ""
        told = later or spoken_n("{n} day sooner", "{n} days sooner", n=-off)
    else:
        told = spoken("as the house")
    when = spoken("{mid} ({low} to {high})", mid=mid, low=low, high=high)
    return HabitRow(tag, habit.seasons, f"{told}: {when}", _times(habit.slow), _times(habit.fast))


def _times(of: Range) -> str:
    low, mid, high = (number(f"{v:.2f}") for v in of)
    return spoken("{mid} ({low} to {high})", mid=mid, low=low, high=high)
