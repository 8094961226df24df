"""Ways to a wish over several seasons at `/routes`: a few of the front, each as a tree and as a table.

The address holds the whole question. A page looks for a few seconds only and says so, a worker
for longer (over PostgreSQL), and the command line for as long as it is given.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from eggtooth.engine.genetics.notation import read
from eggtooth.engine.planning.generations.front import Way
from eggtooth.engine.planning.generations.structure import Step
from eggtooth.engine.planning.generations.telling import ToldStep, held_said
from eggtooth.engine.wording import joined
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.generations import Answer, hidden_wish
from eggtooth.jobs.long_work import asking
from eggtooth.jobs.long_work.questions import routes_asked
from eggtooth.records import store
from eggtooth.web.clock import today
from eggtooth.web.pictures.route import Knot, tree
from eggtooth.web.speech import number, said, spoken
from eggtooth.web.waiting import respond

SECONDS = 4
LONGEST = 300
SEASONS = range(1, 6)


@dataclass(frozen=True, slots=True)
class Row:
    """One step as the table shows it."""

    when: str
    male: str
    female: str
    hold: str
    egg: str
    eggs: str
    in_time: str


@dataclass(frozen=True, slots=True)
class Shown:
    """One route as the page draws it."""

    anchor: str
    best_at: str
    chance: str
    seasons: int
    year: int
    clutches: int
    usual: str
    held: int
    picture: SafeString
    rows: list[Row]


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The page; without a wish only the form."""
    wish = request.GET.get("wish", "").strip()[:LONGEST]
    seasons = _seasons(request.GET.get("seasons", ""))
    context: dict[str, object] = {
        "wish": wish,
        "seasons": seasons,
        "choices": SEASONS,
        "wishes": sorted({w.text for w in store.colony().wishes}),
        "seconds": int(asking.SECONDS) if asking.waits() else SECONDS,
    }
    if not wish:
        return render(request, "routes.html", context)
    question, source = routes_asked(wish, seasons, today()), from_store()
    try:
        outcome = asking.ask(question, source, SECONDS, wanted=True)
    except ValueError as wrong:
        return render(
            request, "routes.html", context | {"problems": said(str(wrong)).splitlines()}, status=422
        )
    if outcome.answer is not None:
        context |= _told(outcome.answer)
    return respond(request, "routes.html", context, {question.digest: outcome})


def _seasons(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and int(text[:3]) in SEASONS else 3


def _told(found: Answer) -> dict[str, object]:
    by_route: dict[int, list[str]] = {}
    for name, way in found.picks.items():
        place = next(i for i, (other, _) in enumerate(found.ways) if other is way)
        by_route.setdefault(place, []).append(name)
    shown = [_shown(found, place, names) for place, names in by_route.items()]
    times, limit = found.task.times, found.task.rules.kinship_limit
    return {
        "found": found,
        "shown": shown,
        "front": [_line(way) for way, _ in found.ways],
        "sons": times.sons_after,
        "daughters": times.daughters_after,
        "limit": number(f"{limit:.1%}".replace("%", " %")),
        "hidden": hidden_wish(read(found.asked.wish, found.asked.catalogue)),
        "left_out": [
            (said(why), ", ".join(tags[:12]), len(tags)) for why, tags in found.task.stock.left_out.items()
        ],
    }


def _line(way: Way) -> tuple[int, int, str, int, str]:
    seasons, clutches, held = way.costs
    return seasons, clutches, number(f"{way.chance.pairings:.1f}"), held, _chance(way.p)


def _shown(found: Answer, place: int, names: list[str]) -> Shown:
    way, steps = found.ways[place]
    route = way.route
    return Shown(
        names[0].replace(" ", "-"),
        ", ".join(map(said, names)),
        _chance(way.p),
        route.seasons,
        route.times.year(route.seasons),
        route.clutches,
        number(f"{way.chance.pairings:.1f}"),
        route.held,
        _picture(way, steps, found.asked.wish),
        [_row(step) for step in steps],
    )


def _row(step: ToldStep) -> Row:
    tries = "" if step.step.tries == 1 else spoken(", {tries} times at most", tries=step.step.tries)
    names = joined(", ", (name for held in step.keeps for name in held.names))
    return Row(
        _when(step) + tries,
        step.male,
        said(joined(" and ", step.females)),
        said(step.keep) if step.last else f"{said(names)}: {said(step.keep)}",
        _chance(step.eggs.p),
        _eggs(step.eggs.needed),
        _chance(step.eggs.step),
    )


def _when(step: ToldStep) -> str:
    """The seasons a step may be tried in, when all before it goes as early as it can or as late."""
    first, last = step.seasons
    return (
        spoken("season {first}", first=first)
        if first == last
        else spoken("seasons {first} to {last}", first=first, last=last)
    )


def _eggs(needed: tuple[int | None, ...]) -> str:
    if all(n is None for n in needed):
        return spoken("no number is enough")
    return said(joined(" or ", (spoken("no number") if n is None else str(n) for n in needed)))


def _picture(way: Way, steps: tuple[ToldStep, ...], wish: str) -> SafeString:
    places = {step.step: i for i, step in enumerate(steps)}
    leads = {b: places[s.step] for s in steps for b in s.step.before()}
    slots = _slots(steps, places)
    knots = [_knot(step, slots[i], leads.get(step.step)) for i, step in enumerate(steps)]
    years = {s: way.route.times.year(s) for s in range(1, way.route.seasons + 1)}
    return tree(knots, years, (_chance(way.p), wish))


def _slots(steps: tuple[ToldStep, ...], places: Mapping[Step, int]) -> dict[int, float]:
    """Places across: first steps side by side, every other in the middle of those it follows."""
    found: dict[int, float] = {}

    def place(at: int) -> float:
        before = [place(places[b]) for b in steps[at].step.before()]
        if before:
            found[at] = sum(before) / len(before)
        else:
            found[at] = float(sum(1 for i, slot in found.items() if not steps[i].step.before()))
        return found[at]

    place(len(steps) - 1)
    return found


def _knot(step: ToldStep, slot: float, to: int | None) -> Knot:
    first = step.seasons[0]
    females = " + ".join(step.females)
    sought = [said(held_said(w.sex, w.count)) for w in step.step.seeks]
    needed = step.eggs.needed[1]
    eggs = spoken("no number of eggs") if needed is None else spoken("{needed} eggs for 95 %", needed=needed)
    return Knot(
        first,
        slot,
        (step.male, spoken("with {females}", females=females), _when(step)),
        to,
        (said(joined(" and ", sought)), eggs),
        spoken(
            "season {first}: {male} with {females}, for {keep}, {eggs}",
            first=first,
            male=step.male,
            females=females,
            keep=said(step.keep),
            eggs=eggs,
        ),
    )


def _chance(p: float) -> str:
    return number(f"{100 * p:.3g} %") if p < 0.999 else spoken("over 99.9 %") if p < 1 else "100 %"
