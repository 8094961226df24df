"""The season's choice by the wishes alone: every female gets the male worth most, and others may stand in.

Plainer than the plan of pairs: it counts every wished-for hatchling alike, however many there are already,
and leaves no female out for whom any wish can come true.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from eggtooth.engine.colony import Colony, Wish
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.genetics.many import stock, wanted, wish_chances
from eggtooth.engine.genetics.notation import read
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.pairs import Pairs
from eggtooth.engine.planning.wanted import Wanted
from eggtooth.engine.planning.wishes import Aim, read_wish

Floats = NDArray[np.float64]
OTHERS = 3
"""Males besides the chosen one whose worth to a female the tool is told."""
PairWorth = dict[tuple[str, str], float]
FEMALES_EACH = 5
"""Females one male is chosen for at most in the simple choice."""


def worth_of(
    males: Mapping[str, str], females: Mapping[str, str], wishes: Sequence[Wish]
) -> tuple[Floats, list[str], list[str]]:
    """Weighted wished-for young an egg of each pair gives, (males, females), from looks by tag."""
    sires = stock([read(g, standard()).founder(male=True) for g in males.values()], male=True)
    dams = stock([read(g, standard()).founder(male=False) for g in females.values()], male=False)
    chances = wish_chances([wanted(read(w.text, standard())) for w in wishes], sires, dams)
    return np.tensordot([w.weight for w in wishes], chances, 1), list(males), list(females)


def by_wishes(colony: Colony, males: Sequence[str], females: Sequence[str], settings: Settings) -> Wanted:
    """Pairs and their worth for the rotation to go by: each female's first male and three others."""
    firsts, spares = simple_choice(colony, males, females, settings)
    return Wanted({**spares, **firsts})


def simple_choice(
    colony: Colony, males: Sequence[str], females: Sequence[str], settings: Settings
) -> tuple[PairWorth, PairWorth]:
    """For each female the male worth most for the wishes, a male for five females at most; and three others.

    The pair worth most in the house first; close kin and crosses that make animals suffer are left out. The
    choice knows what is written of the animals, not what they carry.
    """
    looks = {t: colony.animals[t].genes for t in (*males, *females)}
    looked_for = [w for w in colony.wishes if read_wish(w.text, colony.animals).aim is Aim.LOOK]
    worth, rows, columns = worth_of({m: looks[m] for m in males}, {f: looks[f] for f in females}, looked_for)
    pairs = Pairs(colony, settings)
    for i, j in np.ndindex(*worth.shape):
        if pairs.against(colony.animals[rows[i]], colony.animals[columns[j]]):
            worth[i, j] = -1.0
    return chosen(worth, rows, columns)


def chosen(worth: Floats, rows: list[str], columns: list[str]) -> tuple[PairWorth, PairWorth]:
    """First males, and the others worth most to each female, from the worth of all pairs, best pair first."""
    firsts: PairWorth = {}
    spares: PairWorth = {}
    load = dict.fromkeys(rows, 0)
    served: dict[str, int] = {}
    order = sorted(np.ndindex(*worth.shape), key=lambda p: (-worth[p], p))
    for i, j in order:
        male, female = rows[i], columns[j]
        if worth[i, j] < 0:
            continue
        if female not in served and load[male] < FEMALES_EACH:
            firsts[male, female] = float(worth[i, j])
            served[female] = i
            load[male] += 1
    for i, j in order:
        male, female = rows[i], columns[j]
        other = female in served and served[female] != i and worth[i, j] > 0
        if other and sum(f == female for _, f in spares) < OTHERS:
            spares[male, female] = float(worth[i, j])
    return firsts, spares
