"""Who goes to whom on one night: the most worth gained over all pairs at once, exactly."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from eggtooth.engine.cycle.prior import read
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.assignment import HOME, NO_PAIR, Assignment
from eggtooth.engine.planning.fertile import Prospects
from eggtooth.engine.planning.ovulating import Floats
from eggtooth.engine.planning.wanted import Wanted

UNIT = 1e6
"""Gains are counted in millionths of the usual pair's worth, so that equal gains are wholly equal."""

LOCKED_LEAD, SAT_LEAD = 5e-4, 2e-4
"""Lead of a male who locked, or sat, with her this season among males worth the same (our choice): fewer
males to a clutch leave less doubt of its sire."""

NIGHTS_A_DAY = 4 / 7
WORN_NIGHTS = 60
"""Each night a male has been out adds one part in so many to the cost of the next (our choice)."""


@dataclass(frozen=True, slots=True)
class Night:
    """The males that may go, the females that may be visited, and what is known of them, for one night.

    `nights_in` is how many nights each male has been out; `later` names males that are busy tonight and may
    go another night; `known` gives pairs that met this season a small lead; `apart` holds pairs that may not
    meet tonight; `after` counts nights from today. `prospects` has a row for each of `females`.
    """

    males: Sequence[str]
    nights_in: Sequence[int]
    females: Sequence[str]
    prospects: Prospects
    wanted: Wanted
    settings: Settings
    later: Sequence[str] = ()
    known: Mapping[tuple[str, str], float] = field(default_factory=dict)
    apart: Collection[tuple[str, str]] = ()
    after: int = 0


Against = Callable[[str, str], str]


def gains(night: Night) -> Floats:
    """Worth gained by each male with each female tonight, less what the night costs him, (males, females).

    In units of the usual pair's worth; `NO_PAIR` where they are not wanted together or may not meet.
    """
    if not night.males or not night.females:
        return np.zeros((len(night.males), len(night.females)))
    everyone = night.wanted.table([*night.males, *night.later], night.females)
    worth = everyone[: len(night.males)]
    best = everyone.max(axis=0, initial=0.0)
    by_worth, plain = night.prospects.gain(night.after)
    found = by_worth * worth + plain
    if night.wanted.values is not None:
        found = np.where(worth < best, _standing_in(night, everyone, best), found)
    found += night.settings.presence_weight * best * _presence(night)
    found -= _costs(night)[:, None]
    found[worth <= 0] = NO_PAIR
    for i, j, lead in _places(night, night.known.items()):
        found[i, j] += lead
    for i, j, _ in _places(night, ((pair, 0.0) for pair in night.apart)):
        found[i, j] = NO_PAIR
    return found


def _places(night: Night, pairs: Iterable[tuple[tuple[str, str], float]]) -> Iterator[tuple[int, int, float]]:
    """Rows and columns of those pairs of which both are there tonight."""
    row, column = ({tag: i for i, tag in enumerate(tags)} for tags in (night.males, night.females))
    for (male, female), lead in pairs:
        if male in row and female in column:
            yield row[male], column[female], lead


def _standing_in(night: Night, everyone: Floats, best: Floats) -> Floats:
    """Gains of males that are not a female's best: beyond what her best will still do."""
    favours = (everyone == best).argmax(axis=0)
    asked_of = np.bincount(favours)[favours]
    by_worth, plain = night.prospects.gain_after_first(best, NIGHTS_A_DAY / asked_of, night.after)
    return np.asarray(by_worth * everyone[: len(night.males)] + plain)


def _presence(night: Night) -> Floats:
    return night.prospects.presence(read(night.settings.learned_rates), night.after)


def _costs(night: Night) -> Floats:
    worn = 1 + np.array(night.nights_in, dtype=float) / WORN_NIGHTS
    return np.asarray(night.settings.night_cost * worn)


def counted(night: Night) -> Floats:
    """`gains` in whole numbers of `UNIT`, (males, females)."""
    return np.asarray(np.rint(gains(night) * UNIT))


def choose(night: Night, against: Against, counts: Floats | None = None) -> dict[str, str]:
    """The pairs of the night, male to female: no other choice gains more in sum.

    `against` says why two are kept apart for good, or nothing; it is asked only of pairs about to be chosen.
    `counts` are those of `counted`. Cost: 0.1 to 1 s for 300 males and 800 females.
    """
    found = Assignment(counted(night) if counts is None else counts)
    while True:
        pairs = [(i, int(j)) for i, j in enumerate(found.choice) if j != HOME]
        barred = [(i, j) for i, j in pairs if against(night.males[i], night.females[j])]
        if not barred:
            return {night.males[i]: night.females[j] for i, j in pairs}
        for i, j in barred:
            found.forbid(i, j)


def expect(night: Night, chosen: Mapping[str, str]) -> None:
    """Count a night to come as what it most likely brings: part of a lock for each pair."""
    at = {f: i for i, f in enumerate(night.females)}
    for male, female in chosen.items():
        night.prospects.add_night(at[female], night.wanted(male, female), night.after)
