"""What the records say of one locus, as the question that `peeling` answers."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, NamedTuple

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.entries import Entry, Kind, LabTest
from eggtooth.engine.facts.inheritance import Catalogue, Fate, Locus, Look
from eggtooth.engine.facts.inheritance import Genotype as Written
from eggtooth.engine.facts.linkage import MALE_RECOMBINATION
from eggtooth.engine.genetics.notation import read
from eggtooth.engine.genetics.statement import Claim, Maker, Said, Statement
from eggtooth.engine.pedigree.family import Family, Pick
from eggtooth.engine.pedigree.laboratory import LabErrors, result_chances
from eggtooth.engine.pedigree.segregation import Segregation, autosomal, sex_linked
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


@dataclass(frozen=True, eq=False)
class LocusModel:
    """A locus cut down to the alleles in play. `alleles[i]`: catalogue index of allele i; `written`: the
    genotypes."""

    locus: Locus
    alleles: tuple[int, ...]
    segregation: Segregation

    @cached_property
    def written(self) -> tuple[Written, ...]:
        """Each genotype with catalogue indices; a sex-linked male's in the order X, Y."""
        return tuple(
            self.locus.genotype(
                self.alleles[a], self.alleles[b], male=self.segregation.sex_linked and bool(male)
            )
            for (a, b), male in zip(self.segregation.genotypes, self.segregation.can_sire, strict=True)
        )

    @cached_property
    def states(self) -> tuple[Mapping[Written, int], Mapping[Written, int]]:
        """Index of each written genotype, for females and for males."""
        s = self.segregation
        male = {w: i for i, w in enumerate(self.written) if not s.sex_linked or s.can_sire[i]}
        female = {w: i for i, w in enumerate(self.written) if not s.sex_linked or s.can_dam[i]}
        return female, male


@dataclass(frozen=True)
class Question:
    """One locus asked of the part of a skeleton that may carry anything there.

    `rows` [n]: skeleton rows taken in, ascending; all others are surely wild type. `chosen` [picks]: which of
    the skeleton's choices each pick of the family is.
    """

    model: LocusModel
    rows: Ints
    family: Family
    chosen: tuple[int, ...]


class Evidence:
    """The records of a colony, read once."""

    def __init__(self, colony: Colony, catalogue: Catalogue, skeleton: Skeleton, rates: Rates) -> None:
        """Read every text. Raises `NotationError` for one that cannot be read."""
        import numpy as np

        self.colony, self.catalogue, self.skeleton, self.rates = colony, catalogue, skeleton, rates
        self.sire, self.dam = np.array(skeleton.sire, dtype=np.int64), np.array(skeleton.dam, dtype=np.int64)
        self.statements = {tag: _read(a.genes, catalogue) for tag, a in colony.animals.items()}
        self.tests = _tests(colony, catalogue)
        self.founder = self.sire < 0
        self.noted, self.male, self.female = self._columns()
        self.words: dict[str, dict[str, _AtLocus]] = {}
        self.models: dict[str, LocusModel] = {}
        self.mentions = self._mentions()
        self.kin: dict[tuple[str, ...], list[str]] = {}
        self._stand_ins()

    @property
    def loci(self) -> list[Locus]:
        """Loci at which anything but the wild type is spoken of, by name."""
        return [self.by_name[name] for name in sorted(self.mentions)]

    def model(self, locus: Locus) -> LocusModel:
        """The locus with the alleles that any record names."""
        if locus.name not in self.models:
            self.models[locus.name] = self._model(locus)
        return self.models[locus.name]

    def _model(self, locus: Locus) -> LocusModel:
        alleles = (0, *sorted({a for alleles in self.mentions[locus.name].values() for a in alleles}))
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
    ) -> Question:
        """The question of one locus.

        `odds`: other odds for some of the skeleton's choices; `doubted`: records that may be wrong
        (`Rates.mistake`);
        `within`: only these skeleton rows, the rest unknown; `dropped`: records left out.
        """
        import numpy as np

        model = self.model(locus)
        rows, bare = self._rows(locus, doubted) if within is None else (within, None)
        place = np.full(len(self.sire), -1)
        place[rows] = np.arange(len(rows))
        inside = (self.sire[rows] >= 0) & (place[self.sire[rows]] >= 0) & (place[self.dam[rows]] >= 0)
        sire = np.where(inside, place[self.sire[rows]], -1)
        dam = np.where(inside, place[self.dam[rows]], -1)
        table = self.tables(model, rows, doubted, dropped, whole=within is None)
        if bare is not None:
            table[bare] *= np.array([w == (0, 0) for w in model.written])
        picks, chosen = self._picks(place, odds or {})
        return Question(model, rows, Family(model.segregation, sire, dam, table, picks), chosen)

    def look_of(self, model: LocusModel, row: int) -> Floats:
        """Likelihood of an animal's own look, statements and tests at a locus, as of one with known parents,
        [S]."""
        import numpy as np

        animal = self.colony.animals[self.skeleton.rows[row].tag]
        table = self._told(model, animal, founder=False)
        for _, test, locus in self.tests.get(animal.tag, ()):
            if locus.name == model.locus.name:
                table = table * self._test_table(model, test, doubted=False)
        return np.asarray(table)

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
        choices = {c.row: c.candidates for c in self.skeleton.chosen}
        for row, (sire, dam) in enumerate(zip(self.skeleton.sire, self.skeleton.dam, strict=True)):
            if not marked[row] and sire >= 0:
                marked[row] = marked[sire] or marked[dam]
            elif row in choices:
                marked[row] |= marked[list(choices[row])].any()
        may = marked.copy()
        born = np.flatnonzero(marked & (self.sire >= 0))
        marked[self.sire[born]] = marked[self.dam[born]] = True
        for row, candidates in choices.items():
            if marked[row]:
                marked[list(candidates)] = True
        rows = np.flatnonzero(marked)
        return rows, ~may[rows]

    # One animal
    # ----------------------------------------------------------------------------------------------
    def tables(
        self,
        model: LocusModel,
        rows: Ints,
        doubted: Collection[Record] = (),
        dropped: Collection[Record] = (),
        whole: bool = True,
    ) -> Floats:
        """Likelihood of what is noted of each row, times the prior of a founder; shape [rows, S].

        Most animals say nothing of a locus and are filled in together; the others one by one.
        """
        import numpy as np

        normal = np.array([model.locus.look(w) == () for w in model.written], dtype=float)
        wild = np.array([w == (0, 0) for w in model.written], dtype=float)
        silent = np.stack([np.ones(len(wild)), _wrong_by(normal, self.rates.look_error), wild])
        out = silent[np.where(self.founder[rows], 2, self.noted[rows].astype(int))]
        if model.segregation.sex_linked:
            out = out * np.where(self.male[rows, None], model.segregation.can_sire, 1)
            out = out * np.where(self.female[rows, None], model.segregation.can_dam, 1)
        for at in self._spoken_of(model, rows, doubted, dropped):
            out[at] = self._table(model, int(rows[at]), doubted, dropped, whole)
        return out

    def _spoken_of(
        self, model: LocusModel, rows: Ints, doubted: Collection[Record], dropped: Collection[Record]
    ) -> list[int]:
        """Places in `rows` of animals whose records speak of the locus, are doubted or left out, and of
        stand-ins."""
        import numpy as np

        position = self.skeleton.position
        named = [position[tag] for tag in self.mentions[model.locus.name]]
        named += [position[key] for kind, key in (*doubted, *dropped) if kind == "genes"]
        marked = self.stand_in.copy()
        marked[[*named, *self.open_founders]] = True
        return np.flatnonzero(marked[rows]).tolist()

    def _table(
        self,
        model: LocusModel,
        row: int,
        doubted: Collection[Record],
        dropped: Collection[Record],
        whole: bool,
    ) -> Floats:
        """Likelihood of what is noted of one row, times the prior when it is a founder."""
        import numpy as np

        tag = self.skeleton.rows[row].tag
        if not tag:
            return self._unknown_parent(model, row, whole)
        animal, founder = self.colony.animals[tag], bool(self.founder[row])
        record: Record = ("genes", tag)
        if record in dropped:
            table = self._sexed(model, animal, np.ones(len(model.written)))
        elif founder and row in self.open_founders:
            open_to = (
                self._as_young_name(model, self.open_founders[row]) if whole else np.ones(len(model.written))
            )
            table = self._sexed(model, animal, open_to)
        else:
            table = self._told(model, animal, founder)
        if record in doubted:
            table = self._doubted(model, animal, table / table.max(), founder)
        for entry, test, locus in self.tests.get(tag, ()):
            if locus.name == model.locus.name and ("test", entry.id) not in dropped:
                table = table * self._test_table(model, test, ("test", entry.id) in doubted)
        return table

    def _doubted(self, model: LocusModel, animal: Animal, table: Floats, founder: bool) -> Floats:
        """A text that may be wrong; a founder sooner carries something unsaid than looks otherwise than
        noted."""
        import numpy as np

        mistake = self.rates.mistake
        if not founder:
            return self._sexed(model, animal, _wrong_by(table, mistake))
        look = self.statements[animal.tag].look(model.locus)
        shown = np.array([look is None or model.locus.look(w) == look for w in model.written], dtype=float)
        wide = table + mistake * shown / max(shown.sum(), 1) + mistake**2
        return self._sexed(model, animal, wide)

    def _sexed(self, model: LocusModel, animal: Animal, table: Floats) -> Floats:
        return table * _of_sex(model, animal.sex)

    def _told(self, model: LocusModel, animal: Animal, founder: bool) -> Floats:
        """What the text says of the locus; animals that say the same share one computation."""
        told = self.words.get(model.locus.name, {}).get(animal.tag)
        statement = self.statements[animal.tag]
        told = told or _AtLocus(None, None, (), statement.noted, None)
        tested = any(locus.name == model.locus.name for _, _, locus in self.tests.get(animal.tag, ()))
        silent = told.look is None and not told.claims
        return _told_once(
            model, told, animal.sex, founder and not (tested and silent), founder, self.rates.look_error
        )

    def _test_table(self, model: LocusModel, test: LabTest, doubted: bool) -> Floats:
        """P(result | genotype), by the laboratory's own stated error or the usual rates."""
        import numpy as np

        errors = self.rates.laboratory if test.error is None else LabErrors(test.error)
        if doubted:
            errors = LabErrors(max(errors.error, errors.missed, errors.invented, self.rates.mistake))
        allele = model.locus.index(_allele_of(test, model.locus, self.catalogue))
        copies = np.array([w.count(allele) for w in model.written])
        return result_chances(copies, test.copies, errors)

    def _unknown_parent(self, model: LocusModel, row: int, whole: bool) -> Floats:
        """An unknown parent may carry what its offspring's own texts name, each allele alike; else it is wild
        type."""
        import numpy as np

        key = self.unknown_parents.get(row)
        if key is None or not whole:
            return np.ones(len(model.written))
        return self._as_young_name(model, self.kin[key])

    def _as_young_name(self, model: LocusModel, young: Iterable[str]) -> Floats:
        """Prior of one whose look nobody noted: wild type and the alleles its young are noted with, alike."""
        import numpy as np

        spoken = self.mentions[model.locus.name]
        alleles = {0, *(a for tag in young for a in spoken.get(tag, ()))}
        a, b = np.array(model.written).T
        fits = np.isin(a, list(alleles)) & np.isin(b, list(alleles))
        both = np.where((a == b) | model.segregation.sex_linked & model.segregation.can_sire, 1.0, 2.0)
        return np.asarray(fits * both / (both * fits).sum())

    # Reading
    # -------------------------------------------------------------------------------------------------
    def _columns(self) -> tuple[Bools, Bools, Bools]:
        """Look noted, known male, known female, by row."""
        import numpy as np

        out = np.zeros((3, len(self.sire)), dtype=bool)
        for tag, row in self.skeleton.position.items():
            sex = self.colony.animals[tag].sex
            out[:, row] = self.statements[tag].noted, sex is Sex.MALE, sex is Sex.FEMALE
        return out[0], out[1], out[2]

    def _mentions(self) -> dict[str, dict[str, set[int]]]:
        """Alleles each animal's records name, by locus name and tag; and the words themselves, into
        `words`."""
        out: dict[str, dict[str, set[int]]] = {}
        self.by_name: dict[str, Locus] = {}
        for tag, statement in self.statements.items():
            for locus, at_locus, alleles in _at_loci(statement):
                self.by_name[locus.name] = locus
                out.setdefault(locus.name, {})[tag] = set(alleles)
                self.words.setdefault(locus.name, {})[tag] = at_locus
        for tag, tests in self.tests.items():
            for _, test, locus in tests:
                self.by_name[locus.name] = locus
                allele = locus.index(_allele_of(test, locus, self.catalogue))
                out.setdefault(locus.name, {}).setdefault(tag, set()).add(allele)
        return out

    def _stand_ins(self) -> None:
        """Which rows stand for unknown parents, and the offspring of each clutch."""
        import numpy as np

        from eggtooth.engine.pedigree.skeleton import clutch_key

        chosen = {c.row for c in self.skeleton.chosen}
        rows = enumerate(self.skeleton.rows)
        self.unknown_parents = {r: row.clutch for r, row in rows if not row.tag and r not in chosen}
        self.stand_in = np.array([not row.tag for row in self.skeleton.rows], dtype=bool)
        for tag, animal in self.colony.animals.items():
            self.kin.setdefault(clutch_key(animal), []).append(tag)
        self._open_founders()

    def _open_founders(self) -> None:
        """Founders whose look is not noted, with their young: a gap is no evidence of carrying nothing."""
        place = self.skeleton.position
        self.open_founders: dict[int, list[str]] = {
            place[tag]: []
            for tag, statement in self.statements.items()
            if tag in place and self.sire[place[tag]] < 0 and not statement.noted and not statement.loci()
        }
        for tag, animal in self.colony.animals.items():
            for parent in (animal.dam, *animal.sires):
                if (row := place.get(parent, -1)) in self.open_founders:
                    self.open_founders[row].append(tag)


def _wrong_by(fits: Floats, error: float) -> Floats:
    """1 - error where it fits, error elsewhere."""
    return fits if error == 0 else fits * (1 - error) + (fits == 0) * error


class _AtLocus(NamedTuple):
    """What a text says of one locus: look and genotype where it names them, claims as (allele, p)."""

    look: Look | None
    genotype: Written | None
    claims: tuple[tuple[int, Fraction | None], ...]
    noted: bool
    maker: Maker | None


@lru_cache(maxsize=100_000)
def _read(text: str, catalogue: Catalogue) -> Statement:
    return read(text, catalogue)


@lru_cache(maxsize=100_000)
def _at_loci_of(statement: Statement) -> tuple[tuple[Locus, _AtLocus, frozenset[int]], ...]:
    out = []
    for locus in statement.loci():
        said = next((s for s in statement.said if s.locus is locus or s.locus == locus), None)
        claims = tuple((c.allele, c.p) for c in statement.claims if c.locus == locus)
        maker = statement.maker if locus.sex_linked else None
        look, genotype = (said.look, said.genotype) if said else (None, None)
        told = _AtLocus(look, genotype, claims, statement.noted, maker)
        out.append((locus, told, _alleles(locus, told)))
    return tuple(out)


def _at_loci(statement: Statement) -> tuple[tuple[Locus, _AtLocus, frozenset[int]], ...]:
    return _at_loci_of(statement) if statement.said or statement.claims else ()


def _statement(locus: Locus, told: _AtLocus) -> Statement:
    """A text that says only this."""
    said = () if told.look is None else (Said(locus, told.look, told.genotype),)
    claims = tuple(Claim(locus, allele, p) for allele, p in told.claims)
    return Statement(told.noted, said, claims, told.maker)


@lru_cache(maxsize=10_000)
def _alleles(locus: Locus, told: _AtLocus) -> frozenset[int]:
    named = {allele for allele, _ in told.claims}
    if told.genotype is not None:
        named |= {a for a in told.genotype if a}
    elif told.look is not None:
        named |= {a for g in _statement(locus, told).possible(locus) for a in g if a}
    return frozenset(named)


@lru_cache(maxsize=100_000)
def _told_once(
    model: LocusModel, told: _AtLocus, sex: Sex, prior: bool, founder: bool, look_error: float
) -> Floats:
    """Odds of a founder (`prior`), or the genotypes a text allows, in the model's order."""
    import numpy as np

    statement, locus = _statement(model.locus, told), model.locus
    out = np.zeros(len(model.written))
    for male, states in zip((False, True), model.states, strict=True):
        if model.segregation.sex_linked and sex is (Sex.FEMALE if male else Sex.MALE):
            continue
        if prior:
            for written, p in statement.founder(male=male).get(locus, {Written(0, 0): 1}).items():
                out[states[written]] = float(p)
        else:
            for written in statement.possible(locus, male=male):
                if written in states:
                    out[states[written]] = 1
    if founder:
        return out
    wrong = _wrong_by(out, look_error)
    return wrong if not look_error else wrong * _of_sex(model, sex)


def _of_sex(model: LocusModel, sex: Sex) -> Floats:
    import numpy as np

    s = model.segregation
    if not s.sex_linked or sex is Sex.UNKNOWN:
        return np.ones(len(model.written))
    return (s.can_sire if sex is Sex.MALE else s.can_dam).astype(float)


def _tests(colony: Colony, catalogue: Catalogue) -> dict[str, list[tuple[Entry, LabTest, Locus]]]:
    out: dict[str, list[tuple[Entry, LabTest, Locus]]] = {}
    for tag, entries in colony.entries.items():
        for entry in entries:
            if entry.kind is Kind.TEST and isinstance(entry.detail, LabTest):
                statement = read(f"het {entry.detail.gene}", catalogue)
                (locus,) = statement.loci()
                out.setdefault(tag, []).append((entry, entry.detail, locus))
    return out


def _allele_of(test: LabTest, locus: Locus, catalogue: Catalogue) -> str:
    """The allele a test is about, by the notation's own reading of its name."""
    statement = read(f"het {test.gene}", catalogue)
    said = next(s for s in statement.said if s.locus == locus)
    assert said.genotype is not None
    return locus.alleles[max(said.genotype) - 1].name


def with_rates(evidence: Evidence, rates: Rates) -> Evidence:
    """The same records trusted otherwise."""
    return Evidence(evidence.colony, evidence.catalogue, evidence.skeleton, replace(rates))
