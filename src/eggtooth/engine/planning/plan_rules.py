"""What every plan must keep, one rule a function: each names what is broken, or nothing. Plainly written,
apart from the solver, so that a plan is checked by other means than it was made by."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from eggtooth.engine.planning.diminishing import share
from eggtooth.engine.planning.stakes import Firsts, Stakes
from eggtooth.engine.wording import say

TOLERANCE = 1e-9


@dataclass(frozen=True)
class Choice:
    """Rows of the first and of the spare male by each female's column."""

    firsts: Firsts
    spares: Mapping[int, int] = field(default_factory=dict)

    def pairs(self) -> list[tuple[int, int]]:
        """All (male, female) of both roles."""
        return [(i, j) for role in (self.firsts, self.spares) for j, i in role.items()]


Rule = Callable[[Stakes, Choice], list[str]]


def spare_is_another(stakes: Stakes, choice: Choice) -> list[str]:
    """A spare is not the first himself, and stands only where there is a first."""
    return [
        say("{male} cannot be the spare of {female}", male=stakes.males[i], female=stakes.females[j])
        for j, i in choice.spares.items()
        if choice.firsts.get(j, i) == i
    ]


def males_have_room(stakes: Stakes, choice: Choice) -> list[str]:
    """No male is first for more females than he may serve, nor spare for more."""
    broken: list[str] = []
    for role in (choice.firsts, choice.spares):
        for i, name in enumerate(stakes.males):
            served = sum(1 for male in role.values() if male == i)
            if served > stakes.room[i]:
                broken.append(
                    say(
                        "{name} has {served} females; he may serve {room}",
                        name=name,
                        served=served,
                        room=stakes.room[i],
                    )
                )
    return broken


def nobody_too_close(stakes: Stakes, choice: Choice) -> list[str]:
    """The young of no pair would be more inbred than the house allows."""
    return [
        say(
            "{male} and {female}: their young would be inbred {kinship:.1%}",
            male=stakes.males[i],
            female=stakes.females[j],
            kinship=stakes.kinship[i, j],
        )
        for i, j in choice.pairs()
        if stakes.kinship[i, j] > stakes.kinship_limit + TOLERANCE
    ]


def no_suffering(stakes: Stakes, choice: Choice) -> list[str]:
    """No pair may make young that suffer, unless the keeper gave a reason."""
    return [
        say(
            "{male} and {female}: a caution blocks the pair",
            male=stakes.males[i],
            female=stakes.females[j],
        )
        for i, j in choice.pairs()
        if stakes.harmful[i, j]
    ]


def pins_kept(stakes: Stakes, choice: Choice) -> list[str]:
    """Every pinned pair is a first."""
    return [
        say(
            "{male} is pinned to {female} but is not her first",
            male=stakes.males[i],
            female=stakes.females[j],
        )
        for i, j in sorted(stakes.pins)
        if choice.firsts.get(j) != i
    ]


def bans_kept(stakes: Stakes, choice: Choice) -> list[str]:
    """No banned pair meets."""
    return [
        say("{male} is banned from {female}", male=stakes.males[i], female=stakes.females[j])
        for i, j in choice.pairs()
        if (i, j) in stakes.bans
    ]


RULES: tuple[Rule, ...] = (
    spare_is_another,
    males_have_room,
    nobody_too_close,
    no_suffering,
    pins_kept,
    bans_kept,
)


def broken(stakes: Stakes, choice: Choice) -> list[str]:
    """Everything a choice breaks."""
    return [said for rule in RULES for said in rule(stakes, choice)]


def value_of(stakes: Stakes, choice: Choice) -> float:
    """What the firsts are worth, added up pair by pair and wish by wish, less what they cost."""
    total = [-stakes.cost for _ in choice.firsts]
    for w, goal in enumerate(stakes.goals):
        mean = math.fsum(float(stakes.effect[w, i, j]) for j, i in choice.firsts.items())
        total.append(goal.weight * float(share(mean, goal.count)))
    return math.fsum(total)
