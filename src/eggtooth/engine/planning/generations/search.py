"""Looks for the front: everything where the stock is small, else ever wider beams and small changes.

It can be stopped at any time and then gives the best so far, told as such.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from itertools import islice
from typing import Protocol

from eggtooth.engine.planning.generations.ages import Timetable
from eggtooth.engine.planning.generations.beam import Beam
from eggtooth.engine.planning.generations.chances import Chances
from eggtooth.engine.planning.generations.choices import Choices
from eggtooth.engine.planning.generations.everything import Everything, Space, TooMany
from eggtooth.engine.planning.generations.front import Front, Leaders, Way
from eggtooth.engine.planning.generations.moves import Moves
from eggtooth.engine.planning.generations.stock import Rules, Stock
from eggtooth.engine.planning.generations.structure import Route
from eggtooth.engine.wording import say

WIDTHS = (12, 36, 90)
"""Founders and young followed in a generation, one search after the other."""

PIECE = 2
"""Ways changed in one piece of work."""


class Each(Protocol):
    """`map`, or one that spreads the work over processes or machines; order does not matter."""

    def __call__(
        self, work: Callable[[list[Way]], list[Way]], pieces: list[list[Way]], /
    ) -> Iterable[list[Way]]:
        """The result of each piece."""


@dataclass(frozen=True)
class Task:
    """What is looked for, in what, under which assumptions and limits."""

    stock: Stock
    rules: Rules
    choices: Choices
    chances: Chances
    times: Timetable
    space: Space = field(default_factory=Space)
    most_clutches: int = 12
    routes_in_full: int = 1000

    def way(self, route: Route) -> Way:
        """A route with its exact chance."""
        return Way(route, self.chances.of(route))

    def fits(self, route: Route) -> bool:
        """Whether a route keeps to the clutches allowed."""
        return route.clutches <= self.most_clutches


@dataclass
class Search:
    """The state of a search. `complete` when the front is proven within the task's space."""

    task: Task
    enough: Callable[[], bool] = lambda: False
    each: Each | None = None
    front: Front = field(default_factory=Front)
    leaders: Leaders = field(default_factory=Leaders)
    looked_at: int = 0
    doing: str = ""
    complete: bool = False
    stopped: bool = False
    _seen: set[Route] = field(default_factory=set)

    def run(self) -> Iterator[Search]:
        """Search on; yields itself now and then, for those who show progress. The front only gets better."""
        yield from self._in_full()
        if self.complete or self.stopped:
            return
        for width in WIDTHS:
            beam = self._beam(width)
            yield from self._follow(beam)
            yield from self._improve()
            if self.stopped or (beam.whole and width == WIDTHS[-1]):
                return

    def _in_full(self) -> Iterator[Search]:
        self.doing = say("every route")
        task = self.task
        everything = Everything(
            task.stock, task.rules, task.choices, task.times, task.space, task.routes_in_full
        )
        try:
            for route in everything.routes():
                self._take(route)
                if self.looked_at % 50 == 0:
                    yield self
                if self._enough():
                    return
            self.complete = True
        except TooMany:
            pass

    def _beam(self, width: int) -> Beam:
        task = self.task
        return Beam(task.stock, task.rules, task.choices, task.chances, task.times, width)

    def _follow(self, beam: Beam) -> Iterator[Search]:
        self.doing = f"promising animals, {beam.width} a generation"
        for route in beam.routes():
            self._take(route.trimmed())
            if self.looked_at % 20 == 0:
                yield self
            if self._enough():
                return

    def _improve(self) -> Iterator[Search]:
        """Change the ways of the front, and the likeliest of each kind, until no change betters them."""
        done: set[Route] = set()
        improving = Improving(self.task)
        while not self._enough():
            ways = dict.fromkeys((*self.front.ordered(), *self.leaders.all()))
            fresh = [way for way in ways if way.route not in done]
            if not fresh:
                return
            self.doing = f"changes to {len(fresh)} routes"
            pieces = [list(piece) for piece in _pieces(fresh, PIECE)]
            for piece, better in zip(pieces, (self.each or map)(improving, pieces), strict=False):
                done |= {way.route for way in piece}
                self.looked_at += improving.counted(better)
                for way in better:
                    self._add(way)
                yield self
                if self._enough():
                    return

    def _take(self, route: Route) -> None:
        """Work a route out and keep it if it is not beaten."""
        if route in self._seen or not self.task.fits(route):
            return
        self._seen.add(route)
        self.looked_at += 1
        self._add(self.task.way(route))

    def _add(self, way: Way) -> None:
        self.front.add(way)
        self.leaders.add(way)

    def _enough(self) -> bool:
        self.stopped = self.stopped or self.enough()
        return self.stopped


@dataclass(frozen=True)
class Improving:
    """The work on one piece: every neighbour of some ways, of which those not beaten among themselves."""

    task: Task

    def __reduce__(self) -> tuple[object, ...]:
        """Sent as bytes, so that another process makes it once and remembers what it works out."""
        return _improving, (self._sent,)

    @cached_property
    def _sent(self) -> bytes:
        return pickle.dumps(self.task)

    def __call__(self, ways: list[Way]) -> list[Way]:
        """The better neighbours."""
        task = self.task
        moves = Moves(task.stock, task.rules, task.choices, task.chances, task.space.side_by_side)
        front, leaders = Front(list(ways)), Leaders()
        for way in ways:
            for route in moves.around(way):
                if task.fits(route):
                    found = task.way(route)
                    front.add(found)
                    leaders.add(found)
        better = dict.fromkeys((*front.ways, *leaders.all()))
        return [way for way in better if way not in ways]

    def counted(self, better: list[Way]) -> int:
        """Routes counted as looked at: those that came back."""
        return len(better)


@lru_cache(maxsize=2)
def _improving(task: bytes) -> Improving:
    """The work on a task as sent; made once in a process."""
    return Improving(pickle.loads(task))


def _pieces(ways: list[Way], size: int) -> Iterator[Iterable[Way]]:
    rest = iter(ways)
    while piece := list(islice(rest, size)):
        yield piece
