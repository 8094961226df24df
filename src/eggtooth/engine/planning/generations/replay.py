"""A route played out by chance, season by season, as a keeper would live it: a check on the exact figure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Fate, Genotype
from eggtooth.engine.planning.generations.goal import Heredity, State, Wanted, unordered
from eggtooth.engine.planning.generations.seasons import Hatchlings
from eggtooth.engine.planning.generations.structure import Founder, Parent, Route, Step

if TYPE_CHECKING:
    import numpy as np

Hatchling = tuple[Sex, State]


@dataclass
class _Life:
    """One life of a route: true genotypes of founders, and what each step has brought so far."""

    founders: dict[str, State]
    young: dict[Step, list[State | None]] = field(default_factory=dict)
    hatched: dict[Step, int] = field(default_factory=dict)
    tried: dict[Step, int] = field(default_factory=dict)


def replay(
    route: Route, heredity: Heredity, hatchlings: Hatchlings, lives: int, rng: np.random.Generator
) -> float:
    """Share of `lives` in which the wish hatched in time. Cost: every egg of every life is drawn."""
    return sum(_lived(route, heredity, hatchlings, rng) for _ in range(lives)) / lives


def _lived(route: Route, heredity: Heredity, hatchlings: Hatchlings, rng: np.random.Generator) -> bool:
    life = _Life({f.tag: _drawn(f.odds, rng) for f in route.founders()})
    limits = route.deadlines()
    for season in range(1, route.seasons + 1):
        for step in route.steps():
            if _pairs_now(step, season, limits[step], route, life):
                _lay(step, season, life, heredity, hatchlings, rng)
    return route.last in life.hatched


def _pairs_now(step: Step, season: int, limit: int, route: Route, life: _Life) -> bool:
    if step in life.hatched or season > limit or life.tried.get(step, 0) >= step.tries:
        return False
    return all(_ready(p, season, route, life) for p in step.parents)


def _ready(parent: Parent, season: int, route: Route, life: _Life) -> bool:
    if isinstance(parent, Founder):
        return season >= parent.season
    born = life.hatched.get(parent.step)
    return born is not None and season >= born + route.times.after(parent.sex)


def _lay(
    step: Step,
    season: int,
    life: _Life,
    heredity: Heredity,
    hatchlings: Hatchlings,
    rng: np.random.Generator,
) -> None:
    """One season of a step: draw every clutch, keep what is sought and not yet in hand."""
    life.tried[step] = life.tried.get(step, 0) + 1
    held = life.young.setdefault(step, [None] * len(step.flat))
    sire = _state(step.male, life)
    for female in step.females:
        for hatchling in _clutch(sire, _state(female, life), heredity, hatchlings, rng):
            for place, seeks in enumerate(step.flat):
                if held[place] is None and _fits(hatchling, seeks):
                    held[place] = hatchling[1]
                    break
    if all(state is not None for state in held):
        life.hatched[step] = season


def _state(parent: Parent, life: _Life) -> State:
    state = (
        life.founders[parent.tag] if isinstance(parent, Founder) else life.young[parent.step][parent.place]
    )
    if state is None:
        raise ValueError("a pair was put together before both were in hand")
    return state


def _clutch(
    sire: State, dam: State, heredity: Heredity, hatchlings: Hatchlings, rng: np.random.Generator
) -> list[Hatchling]:
    """The hatchlings of one season of one female, drawn gamete by gamete."""
    made = []
    for _ in range(_place(hatchlings, rng)):
        sex = Sex.MALE if rng.random() < 0.5 else Sex.FEMALE
        state = tuple(_zygote(i, sire[i], dam[i], sex, heredity, rng) for i in range(len(sire)))
        if all(locus.fate(g) is not Fate.LOST for locus, g in zip(heredity.loci, state, strict=True)):
            made.append((sex, state))
    return made


def _zygote(
    place: int, sire: Genotype, dam: Genotype, sex: Sex, heredity: Heredity, rng: np.random.Generator
) -> Genotype:
    """Sire's X to daughters and Y to sons, crossed over with chance r, at a sex-linked locus; else a coin."""
    locus = heredity.loci[place]
    hers = dam[int(rng.random() < 0.5)]
    if not locus.sex_linked:
        return locus.genotype(hers, sire[int(rng.random() < 0.5)])
    near = 1 if sex is Sex.MALE else 0
    his = sire[near if rng.random() >= float(heredity.r) else 1 - near]
    return locus.genotype(hers, his, male=sex is Sex.MALE)


def _fits(hatchling: Hatchling, seeks: Wanted) -> bool:
    sex, state = hatchling
    return sex in seeks.sexes and all(
        unordered(g) in kind for g, kind in zip(state, seeks.kinds, strict=True)
    )


def _drawn(odds: tuple[tuple[State, float], ...], rng: np.random.Generator) -> State:
    return odds[_place([p for _, p in odds], rng)][0]


def _place(odds: Sequence[float], rng: np.random.Generator) -> int:
    """A place drawn by its odds."""
    at, left = 0, float(rng.random())
    while at < len(odds) - 1 and left >= odds[at]:
        left -= odds[at]
        at += 1
    return at
