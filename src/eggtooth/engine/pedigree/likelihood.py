"""How likely what is noted of each animal is, by genotype at one locus; for founders times their prior."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from functools import lru_cache
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Animal
from eggtooth.engine.entries import LabTest
from eggtooth.engine.pedigree.laboratory import LabErrors, result_chances
from eggtooth.engine.pedigree.locus_model import LocusModel
from eggtooth.engine.pedigree.spoken import AtLocus, allele_of, of_sex, told_once, wrong_by

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.pedigree.evidence import Evidence, Record

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]


class Likelihood:
    """The tables of a colony's evidence."""

    def __init__(self, of: Evidence) -> None:
        """The records read."""
        self.of = of

    def look_of(self, model: LocusModel, row: int) -> Floats:
        """Likelihood of an animal's own look, statements and tests at a locus, as of one with known parents,
        [S]."""
        import numpy as np

        animal = self.of.colony.animals[self.of.skeleton.rows[row].tag]
        table = self._told(model, animal, founder=False)
        for _, test, locus in self.of.tests.get(animal.tag, ()):
            if locus.name == model.locus.name:
                table = table * self._test_table(model, test, doubted=False)
        return np.asarray(table)

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
        silent = np.stack([np.ones(len(wild)), wrong_by(normal, self.of.rates.look_error), wild])
        out = silent[np.where(self.of.founder[rows], 2, self.of.noted[rows].astype(int))]
        if model.segregation.sex_linked:
            out = out * np.where(self.of.male[rows, None], model.segregation.can_sire, 1)
            out = out * np.where(self.of.female[rows, None], model.segregation.can_dam, 1)
        for at in self._spoken_of(model, rows, doubted, dropped):
            out[at] = self._table(model, int(rows[at]), doubted, dropped, whole)
        return out

    def _spoken_of(
        self, model: LocusModel, rows: Ints, doubted: Collection[Record], dropped: Collection[Record]
    ) -> list[int]:
        """Places in `rows` of animals whose records speak of the locus, are doubted or left out, and of
        stand-ins."""
        import numpy as np

        position = self.of.skeleton.position
        named = [position[tag] for tag in self.of.mentions[model.locus.name]]
        named += [position[key] for kind, key in (*doubted, *dropped) if kind == "genes"]
        marked = self.of.stand_in.copy()
        marked[[*named, *self.of.open_founders]] = True
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

        tag = self.of.skeleton.rows[row].tag
        if not tag:
            return self._unknown_parent(model, row, whole)
        animal, founder = self.of.colony.animals[tag], bool(self.of.founder[row])
        record: Record = ("genes", tag)
        if record in dropped:
            table = self._sexed(model, animal, np.ones(len(model.written)))
        elif founder and row in self.of.open_founders:
            open_to = (
                self._as_young_name(model, self.of.open_founders[row])
                if whole
                else np.ones(len(model.written))
            )
            table = self._sexed(model, animal, open_to)
        else:
            table = self._told(model, animal, founder)
        if record in doubted:
            table = self._doubted(model, animal, table / table.max(), founder)
        for entry, test, locus in self.of.tests.get(tag, ()):
            if locus.name == model.locus.name and ("test", entry.id) not in dropped:
                table = table * self._test_table(model, test, ("test", entry.id) in doubted)
        return table

    def _doubted(self, model: LocusModel, animal: Animal, table: Floats, founder: bool) -> Floats:
        """A text that may be wrong; a founder sooner carries something unsaid than looks otherwise than
        noted."""
        import numpy as np

        mistake = self.of.rates.mistake
        if not founder:
            return self._sexed(model, animal, wrong_by(table, mistake))
        look = self.of.statements[animal.tag].look(model.locus)
        shown = np.array([look is None or model.locus.look(w) == look for w in model.written], dtype=float)
        wide = table + mistake * shown / max(shown.sum(), 1) + mistake**2
        return self._sexed(model, animal, wide)

    def _sexed(self, model: LocusModel, animal: Animal, table: Floats) -> Floats:
        return table * of_sex(model, animal.sex)

    def _told(self, model: LocusModel, animal: Animal, founder: bool) -> Floats:
        """What the text says of the locus; animals that say the same share one computation."""
        told = self.of.words.get(model.locus.name, {}).get(animal.tag)
        statement = self.of.statements[animal.tag]
        told = told or AtLocus(None, None, (), statement.noted, None)
        tested = any(locus.name == model.locus.name for _, _, locus in self.of.tests.get(animal.tag, ()))
        silent = told.look is None and not told.claims
        return told_once(
            model, told, animal.sex, founder and not (tested and silent), founder, self.of.rates.look_error
        )

    def _test_table(self, model: LocusModel, test: LabTest, doubted: bool) -> Floats:
        """P(result | genotype), by the laboratory's own stated error or the usual rates."""
        import numpy as np

        rates = self.of.rates
        errors = rates.laboratory if test.error is None else LabErrors(test.error)
        if doubted:
            errors = LabErrors(max(errors.error, errors.missed, errors.invented, rates.mistake))
        allele = model.locus.index(allele_of(test, model.locus, self.of.catalogue))
        copies = np.array([w.count(allele) for w in model.written])
        return result_chances(copies, test.copies, errors)

    def _unknown_parent(self, model: LocusModel, row: int, whole: bool) -> Floats:
        """An unknown parent may carry what its offspring's own texts name, each allele alike; else it is wild
        type."""
        import numpy as np

        key = self.of.unknown_parents.get(row)
        if key is None or not whole:
            return np.ones(len(model.written))
        return self._as_young_name(model, self.of.kin[key])

    def _as_young_name(self, model: LocusModel, young: Iterable[str]) -> Floats:
        """Prior of one whose look nobody noted: wild type and the alleles its young are noted with, alike."""
        spoken = self.of.mentions[model.locus.name]
        return _any_of(model, frozenset({0, *(a for tag in young for a in spoken.get(tag, ()))}))


@lru_cache(maxsize=1024)
def _any_of(model: LocusModel, alleles: frozenset[int]) -> Floats:
    """Prior of one who may carry some alleles, each alike."""
    import numpy as np

    a, b = np.array(model.written).T
    fits = np.isin(a, list(alleles)) & np.isin(b, list(alleles))
    both = np.where((a == b) | model.segregation.sex_linked & model.segregation.can_sire, 1.0, 2.0)
    return np.asarray(fits * both / (both * fits).sum())
