"""Who carries what, who sired whom, how related: gather the colony, ask the engine."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.pedigree.carriers import Carriers, carriers
from eggtooth.engine.pedigree.evidence import Rates
from eggtooth.engine.pedigree.kinship import inbreeding, kinship
from eggtooth.engine.pedigree.lineage import lineage
from eggtooth.engine.pedigree.sires import ClutchSires, PaternitySettings, sire_odds, sires
from eggtooth.engine.pedigree.skeleton import clutch_key
from eggtooth.engine.pedigree.years import HatchYear, by_year

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np
    from numpy.typing import NDArray


class Kin(NamedTuple):
    """Inbreeding by tag and by year of hatch, and kinship of `rows` x `columns` (`values`)."""

    inbreeding: dict[str, float]
    rows: tuple[str, ...]
    columns: tuple[str, ...]
    values: NDArray[np.float64]
    years: tuple[HatchYear, ...]

    def pairs(self) -> Iterator[tuple[str, str, float]]:
        """Related pairs; each pair once when rows and columns are the same animals."""
        same = self.rows == self.columns
        for i, a in enumerate(self.rows):
            row = self.values[i]
            for j in range(i + 1, len(row)) if same else range(len(row)):
                if row[j] > 0:
                    yield a, self.columns[j], float(row[j])


def who_carries(colony: Colony, on: date, rates: Rates, per_egg: bool = False, seed: int = 0) -> Carriers:
    """Posterior genotypes as known at the end of a day."""
    known = colony.as_of(on)
    return carriers(known, standard(), rates, sire_odds(known), per_egg, seed)


def who_sired(colony: Colony, on: date, rates: Rates, settings: PaternitySettings) -> list[ClutchSires]:
    """Odds on the sires of every clutch as known at the end of a day."""
    return sires(colony.as_of(on), standard(), rates, settings)


def how_related(colony: Colony, on: date, pairs: str, base: float = 0.0) -> Kin:
    """Inbreeding of all animals, and kinship of males x females in the room ("breeding"), of "all", or of
    "none"."""
    known = colony.as_of(on)
    odds = sire_odds(known)
    by_tag = {t: odds[clutch_key(a)] for t, a in known.animals.items() if clutch_key(a) in odds}
    descent = lineage(known.animals, by_tag)
    f = dict(zip(descent.tags, inbreeding(descent, base).tolist(), strict=True))
    here = list(known.here(on))
    rows = tuple(a.tag for a in here if a.sex is Sex.MALE) if pairs == "breeding" else tuple(known.animals)
    columns = tuple(a.tag for a in here if a.sex is Sex.FEMALE) if pairs == "breeding" else rows
    if pairs == "none":
        rows = columns = ()
    values = kinship(descent, descent.rows(rows), descent.rows(columns), base)
    own = {tag: f[tag] for tag in known.animals}
    return Kin(own, rows, columns, values, by_year(known.animals.values(), own))
