"""The state of an invented house on a day: its animals, who sits with whom, its clutches, its notebook."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from eggtooth.engine.colony import Animal, Colony, Incubator, Sex, State, Tub, Wish
from eggtooth.engine.entries import Sign
from eggtooth.engine.house import Settings
from eggtooth.engine.simulate.body import Bodies
from eggtooth.engine.simulate.chances import Chances
from eggtooth.engine.simulate.follicle import Floats
from eggtooth.engine.simulate.genes import LOCI, RECESSIVE, Claims, Genomes
from eggtooth.engine.simulate.notebook import Notebook, day_of
from eggtooth.engine.simulate.season import Females, Seasons
from eggtooth.engine.simulate.truth import ClutchTruth, MaleSeason, Truth
from eggtooth.engine.simulate.tubs import Tubs
from eggtooth.engine.simulate.world import World

NEVER = float("inf")
MILESTONES = ("off_food", "reabsorbs", "ovulation", "prelay_shed", "laid")


@dataclass(slots=True)
class Pair:
    """A male in a female's tub. `locked` is the truth of this morning, `seen` what the keeper found."""

    male: int
    female: int
    since: int
    locked: bool = False
    seen: bool = False


@dataclass(slots=True)
class Box:
    """An incubator: its true temperature today and what lies in it."""

    incubator: Incubator
    celsius: float
    clutches: int = 0


@dataclass(slots=True)
class Clutch:
    """Eggs in a box. `ripe` runs from 0 at laying to 1 at pipping; `lost_on` are the days eggs go bad."""

    truth: ClutchTruth
    dam: int
    sires: tuple[int, ...]
    said_sires: tuple[str, ...]
    box: Box
    residual: float
    lost_on: tuple[int, ...]
    next_check: int
    ripe: float = 0.0
    pipped_on: int = 0


@dataclass(slots=True)
class Year:
    """The females' season of one breeding year, with and without males, by position in `who`."""

    first_day: int
    who: NDArray[np.int64]
    place: dict[int, int]
    met: Seasons
    alone: Seasons
    exposed: NDArray[np.bool_]
    met_mm: Floats
    alone_mm: Floats
    signs: dict[int, list[tuple[int, Sign]]]
    locks: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    gravid_known: set[int] = field(default_factory=set)
    last_mm: dict[int, float] = field(default_factory=dict)
    males: dict[int, MaleSeason] = field(default_factory=dict)
    calendar: dict[str, list[list[float]]] = field(default_factory=dict)
    by_day: dict[str, list[dict[float, list[int]]]] = field(default_factory=dict)

    def of(self, female: int) -> tuple[Seasons, int]:
        """The season she really lives, and her place in it."""
        at = self.place[female]
        return (self.met if self.exposed[at] else self.alone), at

    def day(self, female: int, milestone: str) -> float:
        """Ordinal day of a milestone (`ovulation`, `laid` …); infinite when it never comes or no season."""
        at = self.place.get(female)
        if at is None:
            return NEVER
        return self.calendar[milestone][1 if self.exposed[at] else 0][at]

    def due(self, milestone: str, today: int) -> list[int]:
        """Females who reach a milestone today."""
        alone, met = self.by_day[milestone]
        return [i for i in met.get(today, ()) if self.exposed[self.place[i]]] + [
            i for i in alone.get(today, ()) if not self.exposed[self.place[i]]
        ]

    def __post_init__(self) -> None:
        """Lay the milestones out by female and by day."""
        for name in MILESTONES:
            both = [self.first_day + np.floor(getattr(s, name)) for s in (self.alone, self.met)]
            lists = [np.where(np.isnan(days), NEVER, days).tolist() for days in both]
            self.calendar[name] = lists
            self.by_day[name] = [self._sorted_out(days) for days in lists]

    def _sorted_out(self, days: list[float]) -> dict[float, list[int]]:
        found: dict[float, list[int]] = {}
        for i, day in zip(self.who.tolist(), days, strict=True):
            found.setdefault(day, []).append(i)
        return found

    def diameter_mm(self, female: int, today: int) -> float:
        """True diameter today; NaN after ovulation."""
        at = self.place[female]
        table = self.met_mm if self.exposed[at] else self.alone_mm
        return float(table[at, today - self.first_day])


@dataclass(slots=True)
class Room:
    """Everything. Arrays have one place for each animal there may ever be; `n` are in use."""

    world: World
    settings: Settings
    chances: Chances
    book: Notebook
    truth: Truth
    today: int
    target: int
    bodies: Bodies
    females: Females
    genomes: Genomes
    claims: Claims
    male: NDArray[np.bool_]
    hatched: Floats
    next_meal: Floats
    next_weigh: Floats
    next_shed: Floats
    next_scan: Floats
    first_meal: Floats
    noted_g: Floats
    noted_meal: Floats
    carefulness: float = 1.0
    n: int = 0
    tags: list[str] = field(default_factory=list)
    animals: dict[str, Animal] = field(default_factory=dict)
    tubs: Tubs = field(default_factory=Tubs)
    small_tubs: dict[str, Tub] = field(default_factory=dict)
    pairs: dict[int, Pair] = field(default_factory=dict)
    clutches: list[Clutch] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)
    wishes: tuple[Wish, ...] = ()
    stamina: dict[int, float] = field(default_factory=dict)
    start_g: dict[int, float] = field(default_factory=dict)
    true_start_g: dict[int, float] = field(default_factory=dict)
    wanted_this_year: int = 4
    kept_this_year: int = 0
    counts: dict[str, int] = field(default_factory=dict)
    year: Year | None = None

    @classmethod
    def empty(
        cls, seed: int, target: int, begins: date, world: World, females: Females, settings: Settings
    ) -> Room:
        """A house with nobody in it yet and places for everyone who may come."""
        places = len(females)

        def full(value: float) -> Floats:
            return np.full(places, value)

        return cls(
            world,
            settings,
            Chances(seed, places),
            Notebook(seed),
            Truth(begins),
            begins.toordinal(),
            target,
            Bodies.empty(places),
            females,
            np.zeros((places, len(LOCI), 2), dtype=np.int8),
            np.zeros((places, len(RECESSIVE))),
            np.zeros(places, dtype=bool),
            full(NEVER),
            full(NEVER),
            full(NEVER),
            full(NEVER),
            full(NEVER),
            full(NEVER),
            full(0.0),
            full(-NEVER),
        )

    @property
    def on(self) -> date:
        """Today's date."""
        return day_of(self.today)

    def alive(self) -> NDArray[np.bool_]:
        """Which places hold an animal that is in the room."""
        return self.bodies.alive

    def add(self, animal: Animal, genome: Genomes, claims: Claims, mass_g: float, grown_g: float) -> int:
        """A new animal; returns its place. Raises `ValueError` when no place is left."""
        i = self.n
        if i >= self.chances.places:
            raise ValueError(f"no place left for {animal.tag}: the house was planned for {i} animals")
        self.n += 1
        self.tags.append(animal.tag)
        self.animals[animal.tag] = animal
        self.genomes[i], self.claims[i] = genome, claims
        self.male[i] = animal.sex is Sex.MALE
        self.hatched[i] = animal.hatched.toordinal() if animal.hatched else self.today - 2000
        self.bodies.tissue_g[i], self.bodies.grown_g[i] = mass_g, grown_g
        self.bodies.thrift[i] = float(np.exp(self.chances.keyed("thrift", i).normal(0, 0.10)))
        self.bodies.alive[i] = True
        self.noted_g[i], self.noted_meal[i] = mass_g, self.today
        self.truth.genomes[animal.tag] = genome.copy()
        return i

    def leaves(self, i: int, state: State, note: str = "") -> None:
        """An animal dies or is sold: it is in no pair and no tub from now on."""
        animal = self.animals[self.tags[i]]
        self.bodies.alive[i] = False
        for pair in [p for p in self.pairs.values() if i in (p.male, p.female)]:
            del self.pairs[pair.male]
        for due in (self.next_meal, self.next_weigh, self.next_shed, self.next_scan):
            due[i] = NEVER
        self.animals[animal.tag] = replace(animal, state=state, note=note or animal.note)

    def age_days(self, i: int) -> float:
        """Age today."""
        return float(self.today - self.hatched[i])

    def count(self, what: str) -> int:
        """The next number in a series, from 1."""
        self.counts[what] = self.counts.get(what, 0) + 1
        return self.counts[what]

    def noted(self, u: float, share: float) -> bool:
        """Whether something with this chance of being written down is, in the keeper's present state."""
        return u < share * self.carefulness

    def colony(self) -> Colony:
        """The colony as known now."""
        boxes = {b.incubator.tag: b.incubator for b in self.boxes}
        return self.book.colony(self.animals, self.wishes, boxes)
