"""Who decides about the males each day, and what they are shown. The plain fixed order is the default."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Protocol

from eggtooth.engine.colony import Colony
from eggtooth.engine.house import Settings


@dataclass(frozen=True, slots=True)
class MaleSeen:
    """A breeding male as the keeper knows him from what was noted."""

    tag: str
    mass_g: float
    start_mass_g: float
    days_since_meal: int
    bred: bool
    rested: bool


@dataclass(frozen=True, slots=True)
class RoomView:
    """What a policy may know on a day: what was noted, never the truth.

    `sitting` maps males to the females they sat with last night, `locked` holds the males found locked this
    morning; `gravid` females are known to have ovulated, shed or laid. `colony()` gives every entry so far.
    """

    on: date
    males: tuple[MaleSeen, ...]
    females: tuple[str, ...]
    gravid: frozenset[str]
    sitting: Mapping[str, str]
    locked: frozenset[str]
    colony: Callable[[], Colony]


@dataclass(frozen=True, slots=True)
class Decision:
    """Tonight's pairs, male to female, and males taken out of breeding with the reason."""

    together: Mapping[str, str] = field(default_factory=dict)
    rest: Mapping[str, str] = field(default_factory=dict)


class Policy(Protocol):
    """Anything that decides about the males each day of the pairing season."""

    def decide(self, view: RoomView) -> Decision:
        """Who sits with whom tonight. Males that sit and are not named are parted."""


LEAST_MALE_G, BIG_MALE_G = 500.0, 1000.0


class FixedOrder:
    """The plain practice: every male walks his own ring of females, Monday to Thursday nights.

    A locked pair stays; a male that bred and let go, or did nothing, goes to the next free female in his ring
    that is not known to have ovulated. He is rested 62 days after his last meal, a big one 78,
    or at 15 % loss. `rests` turned off works males on, which some do not survive.
    """

    def __init__(self, settings: Settings | None = None, ring: int = 4, rests: bool = True) -> None:
        """`ring` is how many females each male walks."""
        self.settings, self.ring, self.rests = settings or Settings(), ring, rests
        self._next: dict[str, int] = {}

    def decide(self, view: RoomView) -> Decision:
        """See `Policy`."""
        rest = {m.tag: why for m in view.males if not m.rested and (why := self._worn(m))}
        if not self.settings.pairing_night(view.on):
            return Decision({}, rest)
        stays = {m: f for m, f in view.sitting.items() if m in view.locked and m not in rest}
        taken, together = set(stays.values()), dict(stays)
        for place, male in enumerate(view.males):
            if male.rested or male.tag in rest or male.tag in stays or male.mass_g < LEAST_MALE_G:
                continue
            female = self._following(place, male.tag, view, taken)
            if female:
                together[male.tag] = female
                taken.add(female)
        return Decision(together, rest)

    def _worn(self, male: MaleSeen) -> str:
        limit = 78 if male.start_mass_g >= BIG_MALE_G else 62
        if self.rests and male.bred and male.days_since_meal >= limit:
            return f"{male.days_since_meal} days without a meal"
        loss = 1 - male.mass_g / male.start_mass_g
        return f"lost {100 * loss:.0f} %" if self.rests and male.bred and loss >= 0.15 else ""

    def _following(self, place: int, tag: str, view: RoomView, taken: set[str]) -> str | None:
        """The next free female of his ring; rings of neighbours overlap, so that spare males exist."""
        share = max(1, -(-len(view.females) // max(1, len(view.males))))
        ring = [
            view.females[(place * share + k) % len(view.females)]
            for k in range(min(self.ring, len(view.females)))
        ]
        at = self._next.get(tag, 0)
        for step in range(len(ring)):
            female = ring[(at + step) % len(ring)]
            if female not in taken and female not in view.gravid and female != view.sitting.get(tag):
                self._next[tag] = (at + step + 1) % len(ring)
                return female
        return None
