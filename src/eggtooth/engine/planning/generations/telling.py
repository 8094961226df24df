"""A route in words: who goes to whom, which young to hold back, what they show and may carry."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Genotype, Locus
from eggtooth.engine.planning.generations.choices import Choices, kinds_by_look
from eggtooth.engine.planning.generations.eggs import EggsNeeded, eggs_of
from eggtooth.engine.planning.generations.front import Way
from eggtooth.engine.planning.generations.goal import Kind, State
from eggtooth.engine.planning.generations.structure import Founder, Kept, Parent, Step
from eggtooth.engine.wording import joined, say


def held_said(sex: Sex, count: int) -> str:
    """Young sought, in words: `a son`, `2 daughters`, without the article where one is all."""
    if sex is Sex.MALE:
        return say("son") if count == 1 else say("{n} sons", n=count)
    if sex is Sex.FEMALE:
        return say("daughter") if count == 1 else say("{n} daughters", n=count)
    return say("hatchling") if count == 1 else say("{n} hatchlings", n=count)


@dataclass(frozen=True, slots=True)
class HeldBack:
    """Young of one kind held back: its name on the route, how it is chosen, and its odds once in hand.

    `carries` holds, for each gene held and not shown, its chance; `male_maker`, for a son with one copy of a
    sex-linked gene, the chance that it sits on his Y.
    """

    names: tuple[str, ...]
    sex: Sex
    count: int
    looks: str
    carries: tuple[tuple[str, float], ...]
    male_maker: float | None = None

    def __str__(self) -> str:
        """As a keeper says it."""
        sure = [name for name, p in self.carries if p > 1 - 1e-9]
        odds = [f"{_percent(p)} het {name}" for name, p in self.carries if p <= 1 - 1e-9]
        carried = ([f"het {' '.join(sure)}"] if sure else []) + odds
        maker = [] if self.male_maker is None else [f"{_percent(self.male_maker)} male maker"]
        held = held_said(self.sex, self.count)
        number = _one(self.sex) if self.count == 1 else held
        return joined(": ", (number, joined(", ", [*([self.looks] if self.looks else []), *carried, *maker])))


@dataclass(frozen=True, slots=True)
class ToldStep:
    """One step in words and figures. `seasons`: from the earliest to the latest it may be tried in."""

    step: Step
    seasons: tuple[int, int]
    male: str
    females: tuple[str, ...]
    keeps: tuple[HeldBack, ...]
    keep: str
    eggs: EggsNeeded
    pairings: float
    reached: float
    last: bool


def told(way: Way, choices: Choices, wish: str) -> tuple[ToldStep, ...]:
    """The steps of a way, in order of season."""
    route = way.route
    limits, eggs = route.deadlines(), eggs_of(route, way.chance, choices.heredity)
    names = _names(way)
    found = []
    for step in route.steps():
        part, last = way.chance.steps[step], step == route.last
        first = route.begins(step)
        keeps = () if last else _held(step, part.young, names, choices)
        count = step.seeks[0].count
        found.append(
            ToldStep(
                step,
                (first, limits[step]),
                _name(step.male, names),
                tuple(_name(f, names) for f in step.females),
                keeps,
                (wish if count == 1 else f"{count} x {wish}") if last else joined(" and ", map(str, keeps)),
                eggs[step],
                part.pairings,
                math.fsum(part.done),
                last,
            )
        )
    return tuple(found)


def _names(way: Way) -> dict[Kept, str]:
    """Names of the young held back: by step and place, but never the tag of a founder."""
    taken = {f.tag for f in way.route.founders()}
    found: dict[Kept, str] = {}
    for step in way.route.steps()[:-1]:
        for place in range(len(step.flat)):
            name = say("young {number}", number=len(found) + 1)
            found[Kept(step, place)] = joined("", (name, "'")) if name in taken else name
    return found


def _name(parent: Parent, names: Mapping[Kept, str]) -> str:
    return parent.tag if isinstance(parent, Founder) else names[parent]


def _held(
    step: Step, young: Mapping[tuple[State, ...], float], names: Mapping[Kept, str], choices: Choices
) -> tuple[HeldBack, ...]:
    """Each kind held back, with the odds of the first of its animals (all of a kind have the same)."""
    found, place = [], 0
    for seeks in step.seeks:
        states: dict[State, float] = {}
        for group, p in young.items():
            states[group[place]] = states.get(group[place], 0.0) + p
        looks = [
            said
            for i, kind in enumerate(seeks.kinds)
            if (said := look_words(
                choices.heredity.loci[i], kind, choices.made(i, step.male, step.females, seeks.sex)
            ))
        ]  # fmt: skip
        found.append(
            HeldBack(
                tuple(names[Kept(step, place + i)] for i in range(seeks.count)),
                seeks.sex,
                seeks.count,
                _looks_together(looks),
                _carried(choices.heredity.loci, states),
                _maker(choices.heredity.loci, states) if seeks.sex is Sex.MALE else None,
            )
        )
        place += seeks.count
    return tuple(found)


def _looks_together(looks: list[str]) -> str:
    """What shows first, then what does not."""
    shown = " ".join(look for look in looks if not look.startswith("not "))
    return ", ".join([*([shown] if shown else []), *(look for look in looks if look.startswith("not "))])


def look_words(locus: Locus, kind: Kind, made: set[Genotype]) -> str:
    """How a keeper tells this kind at one locus among what the pair makes; empty when nothing shows there."""
    looks = list(dict.fromkeys(locus.look(g) for g in sorted(kind)))
    others = {locus.look(g) for k in kinds_by_look(locus, made) for g in k} - set(looks)
    shown = [" ".join(look) for look in looks if look]
    if () in looks and others:
        shown.append(f"not {_gene(locus, made)}")
    elif () in looks and shown:
        return f"({' or '.join(shown)} or not)"
    return f"({' or '.join(shown)})" if len(shown) > 1 else "".join(shown)


def _gene(locus: Locus, made: set[Genotype]) -> str:
    """The gene of a locus as said of an animal that does not show it."""
    held = sorted({a for g in made for a in g if a})
    return " or ".join(locus.alleles[a - 1].name for a in held)


def _carried(loci: tuple[Locus, ...], states: Mapping[State, float]) -> tuple[tuple[str, float], ...]:
    """Chance of each gene held and not shown."""
    total = math.fsum(states.values())
    odds: dict[str, float] = {}
    for state, p in states.items():
        for locus, g in zip(loci, state, strict=True):
            for allele in locus.hidden(g):
                name = locus.alleles[allele - 1].name
                odds[name] = odds.get(name, 0.0) + p / total
    return tuple(sorted(odds.items(), key=lambda o: (-round(o[1], 9), o[0])))


def _maker(loci: tuple[Locus, ...], states: Mapping[State, float]) -> float | None:
    """Chance that a single sex-linked copy sits on his Y, given that he has a single copy."""
    on_y = on_x = 0.0
    for state, p in states.items():
        for locus, g in zip(loci, state, strict=True):
            if locus.sex_linked and (g.a == 0) != (g.b == 0):
                on_y, on_x = (on_y + p, on_x) if g.b else (on_y, on_x + p)
    return on_y / (on_y + on_x) if on_y + on_x else None


def _one(sex: Sex) -> str:
    if sex is Sex.MALE:
        return say("a son")
    return say("a daughter") if sex is Sex.FEMALE else say("a hatchling")


def _percent(p: float) -> str:
    return f"{100 * p:.0f} %" if 0.01 <= p <= 0.99 else f"{100 * p:.2g} %"
