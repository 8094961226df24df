"""Ways to a wish over several seasons: gather the animals and their odds, search, answer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.facts.inheritance import Catalogue, Mode
from eggtooth.engine.genetics.notation import read
from eggtooth.engine.genetics.statement import Statement
from eggtooth.engine.genetics.transmission import RECOMBINATION
from eggtooth.engine.pedigree.pairwise import PairKinship
from eggtooth.engine.planning.generations.ages import timetable
from eggtooth.engine.planning.generations.chances import Chances
from eggtooth.engine.planning.generations.choices import Choices
from eggtooth.engine.planning.generations.everything import Space
from eggtooth.engine.planning.generations.front import Way
from eggtooth.engine.planning.generations.goal import GoalError, Heredity, goal_of
from eggtooth.engine.planning.generations.search import Search, Task
from eggtooth.engine.planning.generations.seasons import sure_season, usual_season
from eggtooth.engine.planning.generations.stock import Rules, stock_of
from eggtooth.engine.planning.generations.telling import HeldBack, ToldStep, told
from eggtooth.engine.wording import say
from eggtooth.jobs.family_odds import family_odds
from eggtooth.jobs.gather import Source

MOST_SEASONS = 8


@dataclass(frozen=True)
class Asked:
    """A wish and the terms it is looked for under; None stands for the house's settings or the facts.

    `eggs`: every clutch is laid, of so many eggs that all hatch. `despite`: cautions gone against.
    """

    wish: str
    seasons: int = 3
    count: int = 1
    eggs: int | None = None
    side_by_side: int = 2
    most_clutches: int = 12
    kinship_limit: float | None = None
    sons_after: int | None = None
    daughters_after: int | None = None
    recombination: Fraction = RECOMBINATION
    despite: frozenset[str] = frozenset()
    seed: int = 0
    catalogue: Catalogue = field(default_factory=standard)


class NoRoutes(ValueError):
    """The question cannot be looked into; the message says why."""


def task_of(asked: Asked, source: Source, on: date) -> Task:
    """The search as the engine takes it. Raises `NoRoutes`, `NotationError`, `GoalError`."""
    if not 1 <= asked.seasons <= MOST_SEASONS:
        raise NoRoutes(f"routes are looked for over 1 to {MOST_SEASONS} seasons, not {asked.seasons}")
    _known(asked)
    loci, wish = goal_of(read(asked.wish, asked.catalogue), asked.count)
    settings, known = source.settings, source.colony.as_of(on)
    times = timetable(on, asked.seasons, settings, asked.sons_after, asked.daughters_after)
    odds = family_odds(source.colony, on, asked.catalogue, asked.seed)
    stock = stock_of(known.here(on), odds, loci, asked.catalogue, times, on, settings, asked.despite)
    heredity = Heredity(loci, asked.recombination)
    limit = settings.kinship_limit if asked.kinship_limit is None else asked.kinship_limit
    kin = PairKinship(dict(known.animals))
    return Task(
        stock,
        Rules(kin, limit, loci, asked.catalogue, asked.despite),
        Choices(heredity, wish),
        Chances(heredity, usual_season() if asked.eggs is None else sure_season(asked.eggs)),
        times,
        Space(asked.side_by_side),
        asked.most_clutches,
    )


def _known(asked: Asked) -> None:
    rules = {rule.id for rule in asked.catalogue.rules}
    strange = sorted(asked.despite - rules)
    if strange:
        raise NoRoutes(f"there is no caution {strange[0]!r}; there are {', '.join(sorted(rules))}")


def searched(task: Task, enough: Callable[[], bool]) -> Search:
    """A search gone through to its end, or until it was enough."""
    search = Search(task, enough)
    for state in search.run():
        search = state
    return search


@dataclass(frozen=True)
class Answer:
    """The front with its steps told, how far the search came, and the terms."""

    asked: Asked
    task: Task
    search: Search
    ways: tuple[tuple[Way, tuple[ToldStep, ...]], ...]

    @property
    def standing(self) -> str:
        """How sure the front is."""
        if self.search.complete:
            return say("every route there is was looked at")
        if self.search.stopped:
            return say("the best found; stopped before the end; a better one may exist")
        return say("the best found; looked through as far as it goes; a better one may exist")

    @property
    def picks(self) -> dict[str, Way]:
        """A few of the front by what they are best at; one way may be best at several things."""
        ways = [way for way, _ in self.ways]
        if not ways:
            return {}
        fair = [w for w in ways if w.p >= 0.5] or ways
        found: dict[str, Way] = {
            say("sooner"): min(ways, key=lambda w: (w.route.seasons, -w.p, w.costs)),
            say("surer"): max(ways, key=lambda w: (w.p, *(-c for c in w.costs))),
            say("fewer clutches"): min(fair, key=lambda w: (w.route.clutches, w.route.seasons, -w.p)),
        }
        least = min(fair, key=lambda w: (w.route.held, w.route.seasons, -w.p))
        if any(least.route.held < way.route.held for way in found.values()):
            found[say("fewer held back")] = least
        return found


def answer(asked: Asked, task: Task, search: Search) -> Answer:
    """What a search has found so far."""
    wish = asked.wish.strip()
    ways = tuple((way, told(way, task.choices, wish)) for way in search.front.ordered())
    return Answer(asked, task, search, ways)


def hidden_wish(wish: Statement) -> bool:
    """Whether a wish asks for something a keeper cannot see: a single copy of a recessive."""
    held = [g for s in wish.said if s.genotype for g in (s.genotype,) if s.locus.hidden(g)]
    claimed = [c for c in wish.claims if c.locus.alleles[c.allele - 1].mode is Mode.RECESSIVE]
    return bool(held or claimed)


def as_json(found: Answer) -> dict[str, Any]:
    """The whole front. `p` of a step is the chance that a fertile egg is one of those sought."""
    times, task = found.task.times, found.task
    return {
        "wish": found.asked.wish,
        "routes": [_route_json(way, steps) for way, steps in found.ways],
        "picks": {name: _place(found, way) for name, way in found.picks.items()},
        "complete": found.search.complete,
        "stopped": found.search.stopped,
        "standing": found.standing,
        "routes_looked_at": found.search.looked_at,
        "given": {
            "seasons": times.seasons,
            "first_season_hatches": times.first_year,
            "sons_breed_after_seasons": times.sons_after,
            "daughters_breed_after_seasons": times.daughters_after,
            "kinship_limit": task.rules.kinship_limit,
            "hatchlings_a_season": list(task.chances.hatchlings),
            "recombination": float(task.choices.heredity.r),
            "most_clutches": task.most_clutches,
            "females_side_by_side": task.space.side_by_side,
            "wish_cannot_be_seen": hidden_wish(read(found.asked.wish, found.asked.catalogue)),
        },
        "left_out": [{"why": why, "tags": list(tags)} for why, tags in task.stock.left_out.items()],
    }


def _place(found: Answer, way: Way) -> int:
    return next(i for i, (other, _) in enumerate(found.ways) if other is way)


def _route_json(way: Way, steps: tuple[ToldStep, ...]) -> dict[str, Any]:
    route = way.route
    return {
        "seasons": route.seasons,
        "hatches": route.times.year(route.seasons),
        "clutches": route.clutches,
        "clutches_expected": way.chance.pairings,
        "animals_held": route.held,
        "p_success": way.p,
        "steps": [_step_json(step) for step in steps],
    }


def _step_json(told_step: ToldStep) -> dict[str, Any]:
    eggs = told_step.eggs
    return {
        "season": told_step.seasons[0],
        "last_season": told_step.seasons[1],
        "male": told_step.male,
        "female": " + ".join(told_step.females),
        "females": list(told_step.females),
        "tries": told_step.step.tries,
        "keep": told_step.keep,
        "keeps": [_held_json(held, p) for held, p in zip(told_step.keeps, eggs.each, strict=False)],
        "p": eggs.p,
        "p_in_time": eggs.step,
        "p_so_far": told_step.reached,
        "eggs_needed": dict(zip(("90", "95"), eggs.needed, strict=True)),
        "eggs_needed_for_route": dict(zip(("90", "95"), eggs.shared, strict=True)),
        "clutches_expected": told_step.pairings,
    }


def _held_json(held: HeldBack, p: float) -> dict[str, Any]:
    return {
        "names": list(held.names),
        "sex": held.sex.value,
        "count": held.count,
        "looks": held.looks,
        "carries": [{"gene": name, "p": chance} for name, chance in held.carries],
        "male_maker": held.male_maker,
        "p": p,
    }


__all__ = [
    "Answer", "Asked", "GoalError", "NoRoutes", "answer", "as_json", "hidden_wish", "searched", "task_of",
]  # fmt: skip
