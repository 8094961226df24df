"""The season's plan: who goes to which female, who stands in for him, and what is hoped of each pair."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Role(StrEnum):
    """What a male is to a female: the one who goes to her, or the one who steps in when he cannot."""

    FIRST = "first"
    SPARE = "spare"


class Status(StrEnum):
    """How good a plan is known to be."""

    OPTIMAL = "optimal"
    """No plan is worth more (to one part in a million)."""
    BOUNDED = "bounded"
    """No plan is worth more than the bound."""
    CLASH = "clash"
    """What was asked for cannot be kept together; there is no plan."""


@dataclass(frozen=True, slots=True)
class PairWish:
    """What one pair does for one wish: `p` for one fertile egg, `at_least_one` and `expected` for the season
    (whether she lays at all included)."""

    wish: str
    p: float
    at_least_one: float
    expected: float


@dataclass(frozen=True, slots=True)
class PlannedPair:
    """One male for one female. `value` is what the plan would lose without the pair: for a spare, what he
    saves when the first cannot."""

    male: str
    female: str
    role: Role
    value: float
    wishes: tuple[PairWish, ...] = ()
    kinship: float = 0.0
    cautions: tuple[str, ...] = ()
    pinned: bool = False
    why: str = ""


@dataclass(frozen=True, slots=True)
class WishOutlook:
    """What the whole plan does for one wish: `expected` number, chance `p` of at least `count`, and the
    `value` of at most `weight` it adds."""

    wish: str
    weight: float
    count: int
    expected: float
    p: float
    value: float


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A female without a male, and why."""

    tag: str
    why: str


@dataclass(frozen=True, slots=True)
class SeasonPlan:
    """A plan with its worth and the most that any plan could be worth (`bound`)."""

    pairs: tuple[PlannedPair, ...]
    value: float
    bound: float
    status: Status
    unplaced: tuple[Unplaced, ...] = ()
    wishes: tuple[WishOutlook, ...] = ()
    clash: tuple[str, ...] = ()
    cost: float = 0.0
    """What each pair costs: the value is the wishes' less this for each first."""
    rooms: tuple[tuple[str, int], ...] = ()
    """Each male with how many females he may serve."""

    @property
    def gap(self) -> float:
        """How far the value may lie below the best, as a share of the bound."""
        return max(0.0, self.bound - self.value) / self.bound if self.bound > 0 else 0.0

    def values(self) -> dict[tuple[str, str], float]:
        """Worth of a visit by (male, female), for choosing among nights.

        A spare counts half (our choice), and never more than half his female's first: he steps in.
        """
        firsts = {p.female: p.value for p in self.pairs if p.role is Role.FIRST}
        spares = {
            (p.male, p.female): min(p.value, firsts[p.female]) / 2 for p in self.pairs if p.role is Role.SPARE
        }
        return {(p.male, p.female): p.value for p in self.pairs if p.role is Role.FIRST} | spares

    def first_of(self, female: str) -> str | None:
        """The male planned for a female."""
        return next((p.male for p in self.pairs if p.female == female and p.role is Role.FIRST), None)


def changes(before: SeasonPlan, after: SeasonPlan) -> list[tuple[str, str | None, str | None]]:
    """Females whose first male differs between two plans: (female, before, after), None for no male."""
    then, now = ({p.female: p.male for p in plan.pairs if p.role is Role.FIRST} for plan in (before, after))
    females = dict.fromkeys([*then, *now])
    return [(f, then.get(f), now.get(f)) for f in females if then.get(f) != now.get(f)]
