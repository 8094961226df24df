"""What the records say of one locus, as the question that `peeling` answers."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from copy import copy
from dataclasses import dataclass
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.facts.inheritance import Catalogue, Fate, Locus
from eggtooth.engine.facts.inheritance import Genotype as Written
from eggtooth.engine.facts.linkage import MALE_RECOMBINATION
from eggtooth.engine.pedigree.family import Family, Pick
from eggtooth.engine.pedigree.laboratory import LabErrors
from eggtooth.engine.pedigree.likelihood import Likelihood
from eggtooth.engine.pedigree.locus_model import LocusModel
from eggtooth.engine.pedigree.mentions import Mentions
from eggtooth.engine.pedigree.segregation import autosomal, sex_linked
from eggtooth.engine.pedigree.skeleton import Skeleton

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

Record = tuple[str, str]
"""A record that may be wrong: ("genes", tag) for the text of an animal, ("test", entry id) for a laboratory
result."""


@dataclass(frozen=True)
class Rates:
    """How far records are trusted.

    `look_error`: chance that a hatchling's noted look is wrong (0: looks are taken as true); `mistake`:
    chance that a record found in a contradiction is wrong; `test_error`, `test_misses`, `test_invents`: for
    laboratory results that state none, see `LabErrors`; `recombination`: in males, at a sex-linked locus.
    """

    look_error: float = 0.0
    mistake: float = 0.001
    test_error: float = 0.0
    recombination: float = MALE_RECOMBINATION.value
    test_misses: float | None = None
    test_invents: float | None = None

    def __post_init__(self) -> None:
        """Refuse shares that are none."""
        for name in ("look_error", "mistake", "test_error", "recombination"):
            if not 0 <= getattr(self, name) < 1:
                raise ValueError(f"{name} is {getattr(self, name)}, not a share between 0 and 1")
        LabErrors(self.test_error, self.test_misses, self.test_invents)

    @property
    def laboratory(self) -> LabErrors:
        """Errors of a laboratory that states none."""
        return LabErrors(self.test_error, self.test_misses, self.test_invents)


@dataclass(frozen=True)
class Question:
    """One locus asked of the part of a skeleton that may carry anything there.

    `rows` [n]: skeleton rows taken in, ascending; all others are surely wild type. `chosen` [picks]: which of
    the skeleton's choices each pick of the family is. `plain` [n]: rows whose table is told by nothing but
    what is noted of the animal itself, and none of it doubted.
    """

    model: LocusModel
    rows: Ints
    family: Family
    chosen: tuple[int, ...]
    plain: Bools


class Evidence:
    """The records of a colony, read once."""

    def __init__(
        self,
        colony: Colony,
        catalogue: Catalogue,
        skeleton: Skeleton,
        rates: Rates,
        before: Evidence | None = None,
    ) -> None:
        """Read every text; with `before`, of which the skeleton must be a beginning of this one, only what
        changed. Raises `NotationError` for a text that cannot be read."""
        import numpy as np

        self.colony, self.catalogue, self.skeleton, self.rates = colony, catalogue, skeleton, rates
        self.sire, self.dam = np.array(skeleton.sire, dtype=np.int64), np.array(skeleton.dam, dtype=np.int64)
        self.said: Mentions = Mentions(colony, catalogue, before.said if before else None)
        self.statements, self.tests = self.said.statements, self.said.tests
        self.words, self.mentions = self.said.words, self.said.named
        self.founder = self.sire < 0
        self.noted, self.male, self.female = self._columns(before)
        self.models: dict[str, LocusModel] = {}
        self._models_before = before.models if before and before.rates == rates else {}
        self._stand_ins()
        self.likelihood = Likelihood(self)

    def within(self, colony: Colony) -> Evidence:
        """The same records in a colony that differs in nothing they say: other meals, other tubs."""
        other = copy(self)
        other.colony = colony
        return other

    @property
    def loci(self) -> list[Locus]:
        """Loci at which anything but the wild type is spoken of, by name."""
        return [self.said.by_name[name] for name in sorted(self.mentions)]

    def model(self, locus: Locus) -> LocusModel:
        """The locus with the alleles that any record names."""
        if locus.name not in self.models:
            self.models[locus.name] = self._model(locus)
        return self.models[locus.name]

    def _model(self, locus: Locus) -> LocusModel:
        alleles = (0, *sorted(set().union(*self.mentions[locus.name].values())))
        old = self._models_before.get(locus.name)
        if old is not None and old.locus == locus and old.alleles == alleles:
            return old  # the same object, by which what texts say of it is remembered
        dead = tuple((i, i) for i, a in enumerate(alleles) if i and locus.fate(Written(a, a)) is Fate.LOST)
        if locus.sex_linked:
            return LocusModel(locus, alleles, sex_linked(len(alleles), self.rates.recombination, dead))
        return LocusModel(locus, alleles, autosomal(len(alleles), dead))

    def question(
        self,
        locus: Locus,
        odds: Mapping[int, Floats] | None = None,
        doubted: Collection[Record] = (),
        within: Ints | None = None,
        dropped: Collection[Record] = (),
        sooner: Question | None = None,
        changed: Collection[int] = (),
    ) -> Question:
        """The question of one locus.

        `odds`: other odds for some of the skeleton's choices; `doubted`: records that may be wrong
        (`Rates.mistake`);
        `within`: only these skeleton rows, the rest unknown; `dropped`: records left out; `sooner`: the
        question as it was, when of the skeleton rows it knew only `changed` are noted otherwise now.
        """
        import numpy as np

        model = self.model(locus)
        rows, bare = self._rows(locus, doubted) if within is None else (within, None)
        place = np.full(len(self.sire), -1)
        place[rows] = np.arange(len(rows))
        inside = (self.sire[rows] >= 0) & (place[self.sire[rows]] >= 0) & (place[self.dam[rows]] >= 0)
        sire = np.where(inside, place[self.sire[rows]], -1)
        dam = np.where(inside, place[self.dam[rows]], -1)
        was = self._as_they_were(model, rows, sooner, changed)
        table = np.empty((len(rows), len(model.written)))
        table[was < 0] = self.likelihood.tables(model, rows[was < 0], doubted, dropped, whole=within is None)
        if sooner is not None:
            table[was >= 0] = sooner.family.table[was[was >= 0]]
        if bare is not None:
            table[bare] *= np.array([w == (0, 0) for w in model.written])
        plain = np.zeros(len(rows), dtype=bool)
        if bare is not None and not doubted and not dropped:
            plain = self._plain(rows) & ~bare
        picks, chosen = self._picks(place, odds or {})
        return Question(model, rows, Family(model.segregation, sire, dam, table, picks), chosen, plain)

    def _plain(self, rows: Ints) -> Bools:
        """Rows told by their own records alone, when none is doubted: no stand-ins, no founders without a
        look."""
        import numpy as np

        told = ~self.stand_in
        told[list(self.open_founders)] = False
        return np.asarray(told[rows])

    def _as_they_were(
        self, model: LocusModel, rows: Ints, sooner: Question | None, changed: Collection[int]
    ) -> Ints:
        """The places of rows in a question asked before, -1 where their tables are to be made."""
        import numpy as np

        if sooner is None or sooner.model is not model:
            return np.full(len(rows), -1)
        place = np.full(len(self.sire), -1)
        place[sooner.rows[sooner.plain]] = np.flatnonzero(sooner.plain)
        place[list(changed)] = -1
        return np.where(self._plain(rows), place[rows], -1)

    def _picks(self, place: Ints, odds: Mapping[int, Floats]) -> tuple[tuple[Pick, ...], tuple[int, ...]]:
        import numpy as np

        picks, chosen = [], []
        for k, choice in enumerate(self.skeleton.chosen):
            candidates = place[list(choice.candidates)]
            if place[choice.row] >= 0 and (candidates >= 0).all():
                chance = odds.get(k, np.array(choice.odds))
                picks.append(Pick(int(place[choice.row]), candidates, chance))
                chosen.append(k)
        return tuple(picks), tuple(chosen)

    def _rows(self, locus: Locus, doubted: Collection[Record]) -> tuple[Ints, Bools]:
        """Rows that may carry something or whose own records speak of it, and the other parents of all these.

        The second array marks those other parents: by their own descent they are surely wild type.
        """
        import numpy as np

        spoken = self.mentions[locus.name]
        marked = np.zeros(len(self.sire), dtype=bool)
        marked[[self.skeleton.position[tag] for tag in spoken if tag in self.skeleton.position]] = True
        marked[[self.skeleton.position[tag] for kind, tag in doubted if kind == "genes"]] = True
        for row, key in self.unknown_parents.items():
            marked[row] |= any(tag in spoken for tag in self.kin[key])
        for row, young in self.open_founders.items():
            marked[row] |= any(tag in spoken for tag in young)
        choices = {c.row: list(c.candidates) for c in self.skeleton.chosen}
        born = np.flatnonzero(self.sire >= 0)
        sire, dam = self.sire[born], self.dam[born]
        count = -1
        while count < (count := int(marked.sum())):
            marked[born] |= marked[sire] | marked[dam]
            for row, candidates in choices.items():
                marked[row] |= marked[candidates].any()
        may = marked.copy()
        born = np.flatnonzero(marked & (self.sire >= 0))
        marked[self.sire[born]] = marked[self.dam[born]] = True
        for row, candidates in choices.items():
            if marked[row]:
                marked[candidates] = True
        rows = np.flatnonzero(marked)
        return rows, ~may[rows]

    # Reading
    # -------------------------------------------------------------------------------------------------
    def _columns(self, before: Evidence | None) -> tuple[Bools, Bools, Bools]:
        """Look noted, known male, known female, by row."""
        import numpy as np

        out = np.zeros((3, len(self.sire)), dtype=bool)
        position, changed = self.skeleton.position, self.said.changed
        if before is not None and changed is not None:
            out[:, : len(before.sire)] = before.noted, before.male, before.female
        for tag in position if before is None or changed is None else changed:
            sex = self.colony.animals[tag].sex
            out[:, position[tag]] = self.statements[tag].noted, sex is Sex.MALE, sex is Sex.FEMALE
        return out[0], out[1], out[2]

    def _stand_ins(self) -> None:
        """Which rows stand for unknown parents, and the offspring of each clutch that has one."""
        import numpy as np

        from eggtooth.engine.pedigree.skeleton import clutch_key

        chosen = {c.row for c in self.skeleton.chosen}
        self.stand_in = np.array([not row.tag for row in self.skeleton.rows], dtype=bool)
        rows = np.flatnonzero(self.stand_in).tolist()
        self.unknown_parents = {r: self.skeleton.rows[r].clutch for r in rows if r not in chosen}
        self.kin: dict[tuple[str, ...], list[str]] = {key: [] for key in self.unknown_parents.values()}
        for tag, animal in self.colony.animals.items() if self.kin else ():
            if (key := clutch_key(animal)) in self.kin:
                self.kin[key].append(tag)
        self._open_founders()

    def _open_founders(self) -> None:
        """Founders whose look is not noted, with their young: a gap is no evidence of carrying nothing."""
        import numpy as np

        place, rows = self.skeleton.position, self.skeleton.rows
        silent = np.flatnonzero(self.founder & ~self.noted & ~self.stand_in).tolist()
        self.open_founders: dict[int, list[str]] = {
            row: [] for row in silent if not self.statements[rows[row].tag].loci()
        }
        for tag, animal in self.colony.animals.items() if self.open_founders else ():
            for parent in (animal.dam, *animal.sires):
                if (row := place.get(parent, -1)) in self.open_founders:
                    self.open_founders[row].append(tag)
