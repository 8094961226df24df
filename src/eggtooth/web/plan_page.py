"""The plan of pairs at `/plan`: each female with her male and spare, what may hatch, how wishes fill.

The address holds what is tried (`pin`, `ban`, `free`, `without`): what it changes and costs is shown before
it is kept.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from string import ascii_uppercase
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import SafeString
from django.views.decorators.http import require_POST, require_safe

from eggtooth.engine.house import Settings
from eggtooth.engine.planning.plan import (
    PairWish,
    PlannedPair,
    Role,
    SeasonPlan,
    Status,
    WishOutlook,
    changes,
)
from eggtooth.engine.planning.wanted import written
from eggtooth.jobs.gather import Source, from_store
from eggtooth.jobs.long_work.asking import Outcome, ask
from eggtooth.jobs.long_work.questions import Question, plan_asked
from eggtooth.jobs.pairings import Pair, keep
from eggtooth.jobs.rotation import keep as keep_settings
from eggtooth.jobs.rotation import wanted_by, wanted_by_wishes
from eggtooth.web.asked import Page
from eggtooth.web.clock import today
from eggtooth.web.doors import keeper_of
from eggtooth.web.pictures.filling import Filled, eggs
from eggtooth.web.speech import number, said, spoken
from eggtooth.web.waiting import asked_for, respond

SECONDS = 10.0
"""A page waits no longer for a better plan; the bound says how good it is. A worker has longer."""
MOST_EGGS = 7
PER_PAGE = 60
"""Females on one page of a large plan."""

WORDS = {"pin": "pin", "ban": "ban", "free": ""}


@dataclass(frozen=True, slots=True)
class Wished:
    """A wish as the page draws it."""

    mark: str
    tone: int
    outlook: WishOutlook
    picture: SafeString
    more: int
    proves: bool


@dataclass(frozen=True, slots=True)
class Nest:
    """A female as the page draws her: her first male, her spare, what may hatch."""

    first: PlannedPair
    spare: PlannedPair | None
    picture: SafeString
    said: str
    her_genes: str
    his_genes: str


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The page."""
    source = from_store()
    choices = {pair: word for word, pair in _tried(request)}
    without = frozenset(filter(None, (request.GET.get("without", "").strip(),)))
    context: dict[str, object] = {
        "choices": _kept(source),
        "animals": sorted(source.colony.animals),
        "gone_by": bool(source.settings.plan_on(today())),
        "until": _until(source.settings),
    }
    if not source.colony.wishes:
        return render(request, "plan.html", context)
    asked = [_question(source, {}, frozenset())]
    if choices or without:
        asked.append(_question(source, choices, without))
    try:
        wanted = len(asked) > 1 or asked_for(request)
        found = {q.digest: ask(q, source, SECONDS, wanted=wanted) for q in asked}
    except ValueError as wrong:
        return render(request, "plan.html", context | {"problems": said(str(wrong)).splitlines()}, status=422)
    plan, *more = (outcome.answer for outcome in found.values())
    tried = more[0] if more else None
    if plan is None or (more and tried is None):
        return respond(request, "plan.html", context, found)
    if plan.status is Status.CLASH and not (tried and tried.pairs):
        told = {
            "problems": (spoken("Your own choices cannot be kept; take one back."), *map(said, plan.clash))
        }
        return respond(request, "plan.html", context | told, found)
    if tried and plan.status is not Status.CLASH:
        context |= _what_if(plan, tried, choices, without)
    context |= _told(request, tried if tried and tried.pairs else plan, source)
    return respond(request, "plan.html", context, found)


@require_POST
def choose(request: HttpRequest) -> HttpResponse:
    """Keep what was tried, or take a choice back."""
    word, pair = request.POST.get("says", ""), request.POST.get("pair", "")
    male, colon, female = pair.partition(":")
    if word not in WORDS or not colon:
        return HttpResponseBadRequest(spoken("This button is not known here; load the plan again."))
    try:
        keep({(male, female): WORDS[word]}, keeper_of(request).name)
    except ValueError as wrong:
        return HttpResponseBadRequest(said(str(wrong)))
    return redirect("plan")


@require_POST
def go_by(request: HttpRequest) -> HttpResponse:
    """What round and nights go by until the season ends: this plan, the wishes alone, or all alike."""
    source, says = from_store(), request.POST.get("says", "")
    try:
        if says == "plan":
            outcome = ask(_question(source, {}, frozenset()), source, SECONDS)
            if not outcome.current:
                return render(request, "plain.html", _not_of_now(outcome), status=409)
            told = written(wanted_by(outcome.answer))
        elif says in ("wishes", "nothing"):
            told = written(wanted_by_wishes(source, today())) if says == "wishes" else ""
        else:
            return HttpResponseBadRequest(spoken("This button is not known here; load the plan again."))
    except ValueError as wrong:
        return HttpResponseBadRequest(said(str(wrong)))
    until = source.settings.season_end(today()).isoformat() if told else ""
    kept = replace(source.settings, season_plan=told, season_plan_until=until)
    keep_settings(kept, keeper_of(request).name)
    return redirect("nights")


def _not_of_now(outcome: Outcome) -> dict[str, str]:
    words = (
        spoken(
            "Since this plan was worked out something was noted or changed. Nothing was set; have it worked "
            "out anew first."
        )
        if outcome.unasked
        else spoken(
            "The plan is being worked out anew, because something was noted or changed. Nothing was set; "
            "go by the plan once it is there."
        )
    )
    title, label = spoken("Not yet"), spoken("To the plan")
    return {"title": title, "words": words, "label": label, "address": reverse("plan")}


def _until(settings: Settings) -> date | None:
    return date.fromisoformat(settings.season_plan_until) if settings.season_plan_until else None


def _tried(request: HttpRequest) -> list[tuple[str, Pair]]:
    """Choices named in the address, `pin=M03:F12` or `male=M03&female=F12`."""
    found = []
    for word, says in WORDS.items():
        for text in request.GET.getlist(word):
            male, colon, female = text.partition(":")
            found += [(says, (male.strip(), female.strip()))] if colon else []
    male, female = (request.GET.get(name, "").strip() for name in ("male", "female"))
    return [*found, ("pin", (male, female))] if male and female else found


def _question(source: Source, choices: dict[Pair, str], without: frozenset[str]) -> Question:
    """The plan as kept, or with what is tried. A pin on a female takes the place of the one she has."""
    females = {f for (_, f), says in choices.items() if says == "pin"}
    lifted = {
        pair: "" for pair, says in source.choices_on(today()).items() if says == "pin" and pair[1] in females
    }
    return plan_asked(lifted | choices, without, today())


def _what_if(
    plan: SeasonPlan, tried: SeasonPlan, choices: dict[Pair, str], without: frozenset[str]
) -> dict[str, object]:
    names = [_trying(word, pair) for pair, word in choices.items()]
    names += [spoken("Without {tag}", tag=tag) for tag in sorted(without)]
    if tried.status is Status.CLASH:
        return {"trying": ", ".join(names), "clash": tried.clash}
    lost = plan.value - tried.value
    words = {word: name for name, word in WORDS.items()}
    one = next(iter(choices.items())) if len(choices) == 1 and not without else None
    return {
        "trying": ", ".join(names),
        "costs": number(f"{lost:.3f}") if lost > 0.0005 else "",
        "adds": number(f"{-lost:.3f}") if lost < -0.0005 else "",
        "changed": changes(plan, tried),
        "moved": _moved(plan, tried),
        "keeping": (words[one[1]], ":".join(one[0])) if one else None,
    }


def _trying(word: str, pair: Pair) -> str:
    male, female = pair
    if word == "pin":
        return spoken("Pin {male} to {female}", male=male, female=female)
    return spoken(
        "Ban {male} and {female}" if word == "ban" else "Free {male} and {female}", male=male, female=female
    )


def _moved(plan: SeasonPlan, tried: SeasonPlan) -> list[tuple[str, str, str]]:
    """Wishes whose chance of as many as wanted moves by a point or more."""
    before = {w.wish: w.p for w in plan.wishes}
    both = [(w.wish, before[w.wish], w.p) for w in tried.wishes if w.wish in before]
    return [(wish, number(f"{a:.0%}"), number(f"{b:.0%}")) for wish, a, b in both if abs(a - b) >= 0.005]


def _kept(source: Source) -> list[tuple[str, str, str, date]]:
    """(word, male, female, last day) of the choices in force."""
    ends, here = source.choices_end, source.choices_on(today())
    return sorted((says, *pair, ends[pair]) for pair, says in here.items())


def _told(request: HttpRequest, plan: SeasonPlan, source: Source) -> dict[str, object]:
    marks = {w.wish: (ascii_uppercase[i % 26], i % 8) for i, w in enumerate(plan.wishes)}
    spares = {p.female: p for p in plan.pairs if p.role is Role.SPARE}
    firsts = [p for p in plan.pairs if p.role is Role.FIRST]
    animals = source.colony.animals
    page = Page.asked(request, PER_PAGE).of(max(len(firsts), len(plan.unplaced)))
    here = slice(page.first, page.first + PER_PAGE)
    shown = {p.female for p in firsts[here]}
    asked = [(name, value) for name, values in request.GET.lists() for value in values if name != "page"]
    return {
        "plan": plan,
        "on": today(),
        "page": page,
        "page_more": f"&{urlencode(asked)}" if asked else "",
        "table": [p for p in plan.pairs if p.female in shown],
        "unplaced": plan.unplaced[here],
        "most": f"{sum(w.weight for w in plan.wishes):g}",
        "wishes": [_wished(w, *marks[w.wish]) for w in plan.wishes],
        "nests": [
            Nest(
                p,
                spares.get(p.female),
                _eggs_of(p, marks, i),
                _said_of(p, marks),
                animals[p.female].genes,
                animals[p.male].genes,
            )
            for i, p in enumerate(firsts[here])
        ],
        "males": [tag for tag, room in plan.rooms if room],
        "proven": plan.status is Status.OPTIMAL,
    }


def _wished(w: WishOutlook, mark: str, tone: int) -> Wished:
    """A wish as eggs, one for each wanted, filled by the number expected."""
    shown = min(w.count, MOST_EGGS)
    said = spoken(
        "{wish}: {expected:.2g} expected of {count} wanted", wish=w.wish, expected=w.expected, count=w.count
    )
    full = [w.expected * shown / w.count - k for k in range(shown)]
    picture = eggs([Filled(f, mark, tone, said) for f in full], f"wish-{mark}")
    return Wished(mark, tone, w, picture, w.count - shown, w.wish.startswith("prove "))


def _eggs_of(pair: PlannedPair, marks: dict[str, tuple[str, int]], place: int) -> SafeString:
    """One egg for each wish a pair serves, filled by the chance of at least one."""
    drawn = [
        Filled(
            w.at_least_one,
            *marks[w.wish],
            spoken("{wish}: {seen:.0f} of 100", wish=w.wish, seen=100 * w.at_least_one),
        )
        for w in _likeliest(pair)
    ]
    return eggs(drawn, f"nest-{place}")


def _said_of(pair: PlannedPair, marks: dict[str, tuple[str, int]]) -> str:
    """The chances in figures, by the marks of the wishes."""
    told = [f"{marks[w.wish][0]} {100 * w.at_least_one:.0f}" for w in _likeliest(pair)]
    return spoken("{chances} of 100", chances=", ".join(told)) if told else spoken("serves no wish")


def _likeliest(pair: PlannedPair) -> list[PairWish]:
    return sorted(pair.wishes, key=lambda w: -w.at_least_one)[:MOST_EGGS]
