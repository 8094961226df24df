"""Small stocks and wishes for tests of routes, in trade notation."""

from __future__ import annotations

from fractions import Fraction

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.genetics.notation import read
from eggtooth.engine.planning.generations.ages import Timetable
from eggtooth.engine.planning.generations.chances import Chances
from eggtooth.engine.planning.generations.choices import Choices
from eggtooth.engine.planning.generations.everything import Space
from eggtooth.engine.planning.generations.goal import Heredity, goal_of
from eggtooth.engine.planning.generations.search import Search, Task
from eggtooth.engine.planning.generations.seasons import Hatchlings, usual_season
from eggtooth.engine.planning.generations.stock import Kin, Rules, Stock, joint
from eggtooth.engine.planning.generations.structure import Founder


def unrelated(a: str, b: str) -> float:
    """Kinship of founders that share no ancestor."""
    return 0.5 if a == b else 0.0


def task(
    wish: str,
    males: dict[str, str],
    females: dict[str, str],
    seasons: int,
    *,
    limit: float = 0.125,
    count: int = 1,
    hatchlings: Hatchlings | None = None,
    side_by_side: int = 1,
    in_full: int = 100_000,
    after: tuple[int, int] = (1, 2),
    kin: Kin = unrelated,
    from_season: dict[str, int] | None = None,
    despite: frozenset[str] = frozenset(),
    most_clutches: int = 100,
) -> Task:
    """A search among animals given by tag and genes."""
    loci, wanted = goal_of(read(wish), count)

    def founder(tag: str, sex: Sex, genes: str) -> Founder:
        odds = joint(read(genes).founder(male=sex is Sex.MALE), loci)
        return Founder(tag, sex, (from_season or {}).get(tag, 1), odds)

    heredity = Heredity(loci, Fraction(7, 100))
    stock = Stock(
        tuple(founder(tag, Sex.MALE, genes) for tag, genes in males.items()),
        tuple(founder(tag, Sex.FEMALE, genes) for tag, genes in females.items()),
    )
    return Task(
        stock,
        Rules(kin, limit, loci, standard(), despite),
        Choices(heredity, wanted),
        Chances(heredity, usual_season() if hatchlings is None else hatchlings),
        Timetable(seasons, *after, 2027),
        Space(side_by_side),
        most_clutches,
        in_full,
    )


def searched(asked: Task) -> Search:
    """A search gone through to its end."""
    search = Search(asked)
    for state in search.run():
        search = state
    return search
