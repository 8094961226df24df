"""An invented colony, lived day by day with hidden truth: the way in to this package."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from eggtooth.engine.colony import Colony, State
from eggtooth.engine.entries import Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.simulate import nights
from eggtooth.engine.simulate.clutches import incubate
from eggtooth.engine.simulate.females import begin_year, close_year, decide_exposure, milestones
from eggtooth.engine.simulate.meals import feed
from eggtooth.engine.simulate.policy import FixedOrder, Policy
from eggtooth.engine.simulate.room import Room
from eggtooth.engine.simulate.season import draw_females
from eggtooth.engine.simulate.stock import arrive, settle
from eggtooth.engine.simulate.tending import move_grown, plugs, scan, shed, slipped, weigh
from eggtooth.engine.simulate.truth import Truth
from eggtooth.engine.simulate.world import EARLY, World

ARRIVES_BEFORE_END, SLIP_BEFORE_END = 40, 5
SOLD_BEFORE_END, DIED_BEFORE_END = 150, 260


@dataclass(frozen=True, slots=True)
class Simulated:
    """What the keeper noted, and what really happened."""

    colony: Colony
    truth: Truth


def simulate_colony(
    rng: np.random.Generator,
    *,
    animals: int = 60,
    years: int = 2,
    until: date,
    world: World = EARLY,
    policy: Policy | None = None,
    settings: Settings | None = None,
) -> Simulated:
    """A house of about `animals` in the room on `until`, with at least `years` full years of entries.

    It begins on 1 September and ends on the morning of `until`: males that sit are still in, locks of that
    morning are noted, nothing else of that day is. The same state of `rng` gives the same bytes. Raises
    `ValueError` for fewer than 12 animals or less than one year. Cost: about 20 ms an animal and year.
    """
    life = Life(rng, animals=animals, years=years, until=until, world=world, settings=settings)
    chosen = policy or FixedOrder(life.room.settings)
    while life.room.on < until:
        life.day(chosen)
    return life.finished()


class Life:
    """An invented house that lives one day at a time, under any policy for its males.

    Two lives from one seed have the same animals and, as far as the policy leaves it, the same luck.
    """

    def __init__(
        self,
        rng: np.random.Generator,
        *,
        animals: int = 60,
        years: int = 2,
        until: date,
        world: World = EARLY,
        settings: Settings | None = None,
    ) -> None:
        """Set up the house on its first morning."""
        if animals < 12 or years < 1:
            raise ValueError(f"a colony needs at least 12 animals and a year, not {animals} and {years}")
        kept = settings or Settings()
        begins = kept.season_start(until)
        begins = begins.replace(year=begins.year - years)
        seed = int(rng.integers(2**62))
        places = 2 * animals + 40 + animals * years // 2
        females = draw_females(np.random.default_rng([seed, 1]), places, world)
        self.until, self.years = until, years
        self.room = Room.empty(seed, animals, begins, world, females, kept)
        settle(self.room, animals)
        begin_year(self.room)
        self.room.wanted_this_year = self._wanted()
        self._morning()

    def day(self, policy: Policy) -> None:
        """The rest of today, the night, and tomorrow's morning."""
        room = self.room
        room.carefulness = self._carefulness()
        weigh(room)
        scan(room)
        feed(room)
        self._happenings()
        nights.evening(room, policy)
        decide_exposure(room)
        nights.wear(room)
        room.bodies.day()
        room.today += 1
        if room.on == room.settings.season_start(room.on):
            begin_year(room)
            room.wanted_this_year = self._wanted()
        self._morning()

    def _morning(self) -> None:
        room = self.room
        shed(room)
        milestones(room)
        incubate(room)
        plugs(room)
        move_grown(room)
        nights.morning(room)

    def _carefulness(self) -> float:
        """Now and then comes a stretch of days when little is written down."""
        stretch = self.room.chances.keyed("tired", self.room.today // 4)
        return 0.45 if stretch.random() < 0.06 and self.room.today < self.until.toordinal() - 10 else 1.0

    def _wanted(self) -> int:
        """Hatchlings to keep this year, so that the house is full at the end."""
        here = int(self.room.alive().sum())
        first = self.room.on.year + (self.room.on.month > 6)
        summers = self.until.year - first + (self.until.month > 6)
        return max(2, -(-int(1.1 * self.room.target - here) // max(1, summers)))

    def _happenings(self) -> None:
        """One animal bought, one sold, one lost, and a weight typed wrong, counted back from the end."""
        left = self.until.toordinal() - self.room.today
        if left == ARRIVES_BEFORE_END:
            arrive(self.room)
        elif left in (SOLD_BEFORE_END, DIED_BEFORE_END):
            self._gone(Kind.SOLD if left == SOLD_BEFORE_END else Kind.DIED)
        elif left == SLIP_BEFORE_END:
            self._slip()

    def _gone(self, kind: Kind) -> None:
        room = self.room
        growing = [i for i in range(room.n) if room.alive()[i] and room.tags[i][0] in "GH"]
        if growing:
            i = growing[-1] if kind is Kind.SOLD else growing[len(growing) // 2]
            room.leaves(i, State.SOLD if kind is Kind.SOLD else State.DEAD)
            room.book.note(room.on, room.tags[i], kind)

    def _slip(self) -> None:
        room = self.room
        sitting = {i for p in room.pairs.values() for i in (p.male, p.female)}
        free = [i for i in range(room.n) if room.alive()[i] and room.tags[i][0] == "F" and i not in sitting]
        if free:
            i = free[len(free) // 3]
            wrong = slipped(float(np.rint(room.bodies.scale_g()[i])))
            room.book.note(room.on, room.tags[i], Kind.WEIGHT, wrong)

    def finished(self) -> Simulated:
        """The colony as noted so far and the truth; truth of the running year included. Call it once."""
        room = self.room
        close_year(room)
        room.truth.tags = tuple(room.tags)
        room.bodies.history.append(room.bodies.scale_g().astype(np.float32))
        room.truth.masses_g = np.array(room.bodies.history)[:, : room.n]
        return Simulated(room.colony(), room.truth)
