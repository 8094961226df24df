"""A route as a value: founders, young held back, the pairs between, and what it costs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from eggtooth.engine.colony import Sex
from eggtooth.engine.planning.generations.ages import Timetable
from eggtooth.engine.planning.generations.goal import State, Wanted


@dataclass(frozen=True)
class Founder:
    """An animal here: its sex, the first season it can breed in, and its odds at the loci of the wish.

    Compared by tag. `odds` sums to 1; animals' odds are taken as independent of each other.
    """

    tag: str
    sex: Sex
    season: int
    odds: tuple[tuple[State, float], ...]

    def __hash__(self) -> int:
        """By tag."""
        return hash(self.tag)

    def __eq__(self, other: object) -> bool:
        """By tag."""
        return isinstance(other, Founder) and self.tag == other.tag


@dataclass(frozen=True)
class Kept:
    """One of the young held back from a step: the `place`-th of those sought there."""

    step: Step
    place: int

    @property
    def sex(self) -> Sex:
        """Its sex."""
        return self.step.flat[self.place].sex


Parent = Founder | Kept


@dataclass(frozen=True)
class Step:
    """A male with one or several females, each season until all sought are in hand, `tries` times at most.

    With several females at most one young is sought, and the first female's is taken first; several young
    come from one female. The last step of a route seeks the wish and may do both.
    """

    male: Parent
    females: tuple[Parent, ...]
    seeks: tuple[Wanted, ...]
    tries: int = 1

    def __post_init__(self) -> None:
        """Keep the hash: steps are keys, and hold their whole past."""
        object.__setattr__(self, "_hash", hash((self.male, self.females, self.seeks, self.tries)))

    def __hash__(self) -> int:
        """As kept."""
        return int(self._hash)  # type: ignore[attr-defined]

    def __reduce__(self) -> tuple[object, ...]:
        """Made anew in another process, where hashes differ."""
        return Step, (self.male, self.females, self.seeks, self.tries)

    @cached_property
    def flat(self) -> tuple[Wanted, ...]:
        """What is sought, one entry an animal."""
        return tuple(replace(w, count=1) for w in self.seeks for _ in range(w.count))

    @cached_property
    def parents(self) -> tuple[Parent, ...]:
        """The male and the females."""
        return (self.male, *self.females)

    @cached_property
    def _before(self) -> tuple[Step, ...]:
        return tuple(dict.fromkeys(p.step for p in self.parents if isinstance(p, Kept)))

    @cached_property
    def depth(self) -> int:
        """Crosses on the longest way from a founder to the young of this step."""
        return 1 + max((before.depth for before in self.before()), default=0)

    @cached_property
    def earliest_by(self) -> dict[Timetable, int]:
        """Earliest seasons worked out, by timetable."""
        return {}

    def before(self) -> tuple[Step, ...]:
        """The steps its parents come from, each once."""
        return self._before


@dataclass(frozen=True)
class Route:
    """A last step whose wish must hatch by a season."""

    last: Step
    seasons: int
    times: Timetable

    def steps(self) -> tuple[Step, ...]:
        """Every step, those of the earliest seasons first, the last one last."""
        return self._steps

    @cached_property
    def _steps(self) -> tuple[Step, ...]:
        found = dict.fromkeys(_walk(self.last))
        begins = {step: self.begins(step) for step in found}
        return tuple(sorted(found, key=lambda s: (s == self.last, begins[s], s.depth)))

    def begins(self, step: Step) -> int:
        """Earliest season of a step."""
        return earliest(step, self.times)

    def deadlines(self) -> dict[Step, int]:
        """Last season in which each step may still bring what it seeks, for the wish to hatch in time."""
        found = {self.last: self.seasons}
        queue = [self.last]
        while queue:
            step = queue.pop()
            for before in step.before():
                found[before] = found[step] - waits(step, before, self.times)
                queue.append(before)
        return found

    def trimmed(self) -> Route:
        """The same route without tries that would come too late."""
        limits = self.deadlines()

        def trim(step: Step) -> Step:
            made = {before: trim(before) for before in step.before()}
            room = limits[step] - earliest(step, self.times) + 1
            return exchanged(replace(step, tries=max(1, min(step.tries, room))), made)

        return replace(self, last=trim(self.last))

    def in_time(self) -> bool:
        """Whether the wish can hatch by its season at all."""
        return all(self.begins(step) <= limit for step, limit in self.deadlines().items())

    @cached_property
    def clutches(self) -> int:
        """Most pairings that may be made: tries times females, over the steps."""
        return sum(step.tries * len(step.females) for step in self.steps())

    @cached_property
    def held(self) -> int:
        """Young held back on the way; the wish itself is not counted."""
        return sum(len(step.flat) for step in self.steps() if step != self.last)

    def founders(self) -> tuple[Founder, ...]:
        """Animals here that the route uses, each once, by tag."""
        found = {p for step in self.steps() for p in step.parents if isinstance(p, Founder)}
        return tuple(sorted(found, key=lambda f: f.tag))


def _walk(step: Step) -> Iterator[Step]:
    for before in step.before():
        yield from _walk(before)
    yield step


def waits(step: Step, before: Step, times: Timetable) -> int:
    """Seasons from the young of `before` hatching to all of them breeding in `step`."""
    return max(times.after(p.sex) for p in step.parents if isinstance(p, Kept) and p.step == before)


def earliest(step: Step, times: Timetable) -> int:
    """Earliest season in which all parents of a step can breed. Kept by the step itself."""
    if times not in step.earliest_by:
        ready = [p.season for p in step.parents if isinstance(p, Founder)]
        ready += [earliest(b, times) + waits(step, b, times) for b in step.before()]
        step.earliest_by[times] = max(ready)
    return step.earliest_by[times]


def exchanged(step: Step, made: Mapping[Step, Step]) -> Step:
    """The step with the steps its parents come from exchanged for others."""

    def swap(parent: Parent) -> Parent:
        return Kept(made[parent.step], parent.place) if isinstance(parent, Kept) else parent

    return replace(step, male=swap(step.male), females=tuple(map(swap, step.females)))
