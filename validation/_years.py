"""Three who decide about the males of an invented house: this tool, the plain practice, one who knows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from eggtooth.engine.colony import Colony
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.by_wishes import chosen, simple_choice, worth_of
from eggtooth.engine.planning.fertile import Prospects, strength
from eggtooth.engine.planning.ovulating import AHEAD, MIDDLES, STEP
from eggtooth.engine.planning.rotation import Night, choose
from eggtooth.engine.planning.wanted import Wanted
from eggtooth.engine.simulate.advised import ByTheRound
from eggtooth.engine.simulate.colony import Life
from eggtooth.engine.simulate.policy import Decision, FixedOrder, RoomView
from eggtooth.engine.simulate.room import Room
from eggtooth.jobs.gather import Source
from eggtooth.jobs.pairings import Asked, plan_for
from eggtooth.jobs.rotation import wanted_by
from validation._wished import true_text

SETTINGS = Settings()


Choose = Callable[[Colony, RoomView, Settings], Wanted]


def simply(colony: Colony, view: RoomView, settings: Settings) -> Wanted:
    """The simple choice, as the plain practice has it, and the worth of three more males to each female."""
    firsts, spares = simple_choice(colony, [m.tag for m in view.males], view.females, settings)
    return Wanted({**spares, **firsts})


def alone(colony: Colony, view: RoomView, settings: Settings) -> Wanted:
    """The males chosen in the plain practice and no others."""
    return Wanted(simple_choice(colony, [m.tag for m in view.males], view.females, settings)[0])


def planned(colony: Colony, view: RoomView, settings: Settings) -> Wanted:
    """The season's plan, proven best for the wishes as they are weighed."""
    return wanted_by(plan_for(Source(colony, settings), view.on, Asked(seconds=30.0)))


class ThisTool:
    """Every evening what the round says, by a choice for the season made when the males go in."""

    def __init__(self, choose: Choose | None = None, settings: Settings = SETTINGS) -> None:
        """`choose` makes the season's choice on the first pairing night; the simple one if not given."""
        self.settings, self.choose = settings, choose or simply
        self.round: ByTheRound | None = None

    def decide(self, view: RoomView) -> Decision:
        """See `Policy`."""
        if self.round is None:
            self.round = ByTheRound(self.settings, self.choose(view.colony(), view, self.settings))
        return self.round.decide(view)


class PlainPractice(FixedOrder):
    """The same choice for the season, walked in a fixed order: each male his own females, one after another.

    Monday to Thursday; a locked pair stays; rested by days without a meal and by loss, as `FixedOrder`.
    """

    def __init__(self, settings: Settings = SETTINGS) -> None:
        """As `FixedOrder`."""
        super().__init__(settings)
        self.rings: dict[str, list[str]] | None = None

    def decide(self, view: RoomView) -> Decision:
        """See `Policy`."""
        if self.rings is None:
            firsts, _ = simple_choice(view.colony(), [m.tag for m in view.males], view.females, self.settings)
            self.rings = {}
            for male, female in sorted(firsts, key=lambda p: view.females.index(p[1])):
                self.rings.setdefault(male, []).append(female)
        return super().decide(view)

    def _following(self, place: int, tag: str, view: RoomView, taken: set[str]) -> str | None:
        ring = [f for f in (self.rings or {}).get(tag, []) if f in view.females]
        at = self._next.get(tag, 0)
        for step in range(len(ring)):
            female = ring[(at + step) % len(ring)]
            if female not in taken and female not in view.gravid and female != view.sitting.get(tag):
                self._next[tag] = (at + step + 1) % len(ring)
                return female
        return None


class Knowing:
    """One who knows: true ovulation days, every lock, what each male can still bear, what all truly carry.

    Chooses anew every night by the same exact assignment, over all pairs. Not a proven bound, since luck to
    come is known to nobody.
    """

    def __init__(self, life: Life) -> None:
        """`life` is the house as it really is."""
        self.room: Room = life.room
        self.wanted: Wanted | None = None
        self.place: dict[str, int] = {}

    def decide(self, view: RoomView) -> Decision:
        """See `Policy`."""
        room = self.room
        self.place = {t: i for i, t in enumerate(room.tags)}
        if self.wanted is None:
            self.wanted = self._choice(view)
        worn = {
            m.tag: "spent" for m in view.males if not m.rested and m.bred and self._spent(self.place[m.tag])
        }
        if not room.settings.pairing_night(view.on):
            return Decision({}, worn)
        locked = {room.tags[p.male]: room.tags[p.female] for p in room.pairs.values() if p.locked}
        stays = {m: f for m, f in locked.items() if m not in worn}
        males = [m.tag for m in view.males if not m.rested and m.tag not in worn and m.tag not in stays]
        females = [f for f in view.females if f not in stays.values() and self._days_ahead(f) >= 0]
        apart = {(m, f) for m, f in view.sitting.items() if m not in stays}
        night = Night(
            males, [0] * len(males), females, self._prospects(females, view), self.wanted,
            replace(room.settings, presence_weight=1.0, night_cost=0.002), later=list(stays), apart=apart,
        )  # fmt: skip
        return Decision({**stays, **choose(night, lambda m, f: "")}, worn)

    def _spent(self, male: int) -> bool:
        return bool(self.room.bodies.reserve[male] < 0.03)

    def _days_ahead(self, female: str) -> float:
        """Days until she ovulates if she meets a male in time; below zero when she never will, or has."""
        year = self.room.year
        assert year is not None
        at = year.place.get(self.place[female])
        if at is None:
            return -1.0
        met = bool(year.exposed[at]) or self.room.today - year.first_day <= year.alone.decides[at]
        day = year.calendar["ovulation"][1 if met else 0][at]
        return day - self.room.today if day != float("inf") else -1.0

    def _prospects(self, females: Sequence[str], view: RoomView) -> Prospects:
        year = self.room.year
        assert year is not None and self.wanted is not None
        shape = (len(females), len(MIDDLES))
        found = Prospects(
            np.zeros(shape), np.ones(len(females)), np.zeros(len(females)),
            np.ones(shape), np.zeros(shape), np.zeros(shape),
        )  # fmt: skip
        for i, tag in enumerate(females):
            ahead = self._days_ahead(tag)
            if ahead < AHEAD:
                found.ovulates[i, int(ahead // STEP)] = 1.0
            at = year.place[self.place[tag]]
            found.unmet[i] = 0.0 if year.exposed[at] else float(np.isnan(year.alone.ovulation[at]))
            for day, male in year.locks.get(self.place[tag], ()):
                ago = self.room.today - day
                found._add(i, strength(MIDDLES + ago), self.wanted(self.room.tags[male], tag))
        return found

    def _choice(self, view: RoomView) -> Wanted:
        room = self.room
        males = {m.tag: true_text(room.genomes[self.place[m.tag]]) for m in view.males}
        lay = [f for f in view.females if self._days_ahead(f) >= 0]
        females = {f: true_text(room.genomes[self.place[f]]) for f in lay}
        worth, rows, columns = worth_of(males, females, room.wishes)
        firsts, spares = chosen(worth, rows, columns)
        return Wanted({**spares, **firsts})
