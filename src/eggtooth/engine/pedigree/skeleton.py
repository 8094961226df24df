"""The pedigree that all loci share: rows for animals, for unknown parents and for uncertain sires."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from eggtooth.engine.pedigree.lineage import CircularDescent

if TYPE_CHECKING:
    from eggtooth.engine.colony import Animal, Colony

SireOdds = Mapping[tuple[str, ...], Mapping[str, float]]
"""Prior odds of the candidate sires of a clutch, by clutch key; see `clutch_key`."""


class Row(NamedTuple):
    """One row: an animal (`tag`), or a stand-in (`tag` empty) for an unknown parent or an uncertain sire of
    `clutch`."""

    tag: str
    clutch: tuple[str, ...] = ()


@dataclass(frozen=True)
class Chosen:
    """The stand-in `row` is one of the animals `candidates` (rows), with prior `odds`, for the clutch
    `key`."""

    row: int
    candidates: tuple[int, ...]
    odds: tuple[float, ...]
    key: tuple[str, ...]


@dataclass(frozen=True)
class Skeleton:
    """Rows with parents before offspring; `sire`, `dam`: rows or -1 (both or neither); `clutches`: key by
    row."""

    rows: tuple[Row, ...]
    sire: tuple[int, ...]
    dam: tuple[int, ...]
    chosen: tuple[Chosen, ...]
    clutches: tuple[tuple[str, ...], ...]
    position: Mapping[str, int] = field(default_factory=dict)

    def offspring_of(self) -> list[list[int]]:
        """Rows of offspring by row of parent."""
        out: list[list[int]] = [[] for _ in self.rows]
        for row, (sire, dam) in enumerate(zip(self.sire, self.dam, strict=True)):
            if sire >= 0:
                out[sire].append(row)
                out[dam].append(row)
        return out


def clutch_key(animal: Animal) -> tuple[str, ...]:
    """What hatchlings of one clutch share: dam and clutch name, or hatch date, or else the animal itself."""
    if animal.clutch:
        return (animal.dam, animal.clutch, *(() if animal.dam else animal.sires))
    if animal.hatched and animal.dam:
        return (animal.dam, animal.hatched.isoformat())
    return (animal.tag,)


def skeleton(
    colony: Colony, sire_odds: SireOdds | None = None, per_egg: bool | Collection[tuple[str, ...]] = False
) -> Skeleton:
    """Lay out a colony. Unknown parents beside a known one get a stand-in a clutch; uncertain sires a choice
    a clutch.

    `sire_odds` gives prior odds by clutch key, for hatchlings without a single recorded sire; otherwise
    recorded candidates count equally. With `per_egg` (or for the clutch keys it lists) each egg may have its
    own sire. Raises
    `CircularDescent`. Cost: linear.
    """
    return _Layout(colony, sire_odds or {}, per_egg).finished()


class _Layout:
    """Rows in the making."""

    def __init__(
        self, colony: Colony, sire_odds: SireOdds, per_egg: bool | Collection[tuple[str, ...]]
    ) -> None:
        self.animals = colony.animals
        self.sire_odds, self.per_egg = sire_odds, per_egg
        self.rows: list[Row] = []
        self.sire: list[int] = []
        self.dam: list[int] = []
        self.chosen: list[Chosen] = []
        self.position: dict[str, int] = {}
        self.keys: dict[int, tuple[str, ...]] = {}
        self.stand_ins: dict[tuple[str, tuple[str, ...]], int] = {}

    def finished(self) -> Skeleton:
        """Place every animal after its parents."""
        for tag in _sorted(self.animals, self._possible_parents):
            animal, key = self.animals[tag], clutch_key(self.animals[tag])
            sire, dam = self._sire_row(animal), self._dam_row(animal)
            if (sire < 0) != (dam < 0):
                missing = self._stand_in("sire" if sire < 0 else "dam", key)
                sire, dam = (missing, dam) if sire < 0 else (sire, missing)
            self.position[tag] = self._add(Row(tag), sire, dam)
            self.keys[self.position[tag]] = key
        rows, sires, dams = tuple(self.rows), tuple(self.sire), tuple(self.dam)
        keys = tuple(self.keys.get(row, self.rows[row].clutch) for row in range(len(rows)))
        return Skeleton(rows, sires, dams, tuple(self.chosen), keys, self.position)

    def _add(self, row: Row, sire: int = -1, dam: int = -1) -> int:
        self.rows.append(row)
        self.sire.append(sire)
        self.dam.append(dam)
        return len(self.rows) - 1

    def _odds(self, animal: Animal) -> Mapping[str, float]:
        """Candidate sires among the animals here."""
        if len(animal.sires) == 1:
            return {s: 1.0 for s in animal.sires if s in self.animals}
        odds = self.sire_odds.get(clutch_key(animal)) or dict.fromkeys(animal.sires, 1.0)
        named = {s: p for s, p in odds.items() if s in self.animals and p > 0}
        return {s: p / sum(named.values()) for s, p in named.items()}

    def _possible_parents(self, animal: Animal) -> list[str]:
        dam = [animal.dam] if animal.dam in self.animals else []
        if len(animal.sires) == 1:
            return [s for s in animal.sires if s in self.animals] + dam
        return [*self._odds(animal), *dam]

    def _dam_row(self, animal: Animal) -> int:
        return self.position.get(animal.dam, -1)

    def _sire_row(self, animal: Animal) -> int:
        if len(animal.sires) == 1:
            return self.position.get(animal.sires[0], -1)
        odds = self._odds(animal)
        if len(odds) < 2:
            return self.position[next(iter(odds))] if odds else -1
        key = clutch_key(animal)
        apart = self.per_egg if isinstance(self.per_egg, bool) else key in self.per_egg
        egg = (animal.tag,) if apart else ()
        name = ("choice", (*key, *egg, *sorted(odds)))
        if name not in self.stand_ins:
            self.stand_ins[name] = self._add(Row("", key))
            candidates = tuple(self.position[s] for s in odds)
            self.chosen.append(Chosen(self.stand_ins[name], candidates, tuple(odds.values()), key))
        return self.stand_ins[name]

    def _stand_in(self, role: str, key: tuple[str, ...]) -> int:
        if (role, key) not in self.stand_ins:
            self.stand_ins[role, key] = self._add(Row("", key))
        return self.stand_ins[role, key]


def _sorted(animals: Mapping[str, Animal], parents: object) -> Sequence[str]:
    """Tags with parents first, otherwise as they came; without recursion, so that long lines do no harm."""
    from collections.abc import Callable
    from typing import cast

    parents_of = cast("Callable[[Animal], list[str]]", parents)
    done: dict[str, bool] = {}
    out: list[str] = []
    for first in animals:
        stack = [first]
        while stack:
            tag = stack[-1]
            if done.get(tag):
                stack.pop()
                continue
            waiting = [p for p in parents_of(animals[tag]) if not done.get(p)]
            if not waiting:
                done[tag] = True
                out.append(tag)
                stack.pop()
            elif done.get(tag) is False:
                raise CircularDescent(stack)
            else:
                done[tag] = False
                stack.extend(waiting)
    return out
