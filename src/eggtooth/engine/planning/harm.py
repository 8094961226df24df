"""Which pairs a blocking caution keeps apart, all at once, and what is said of one pair."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from eggtooth.engine.facts.inheritance import Catalogue
from eggtooth.engine.genetics.cautions import BLOCK, Caution, cautions, overridden
from eggtooth.engine.genetics.crosses import cross
from eggtooth.engine.genetics.many import harm_chances, stock
from eggtooth.engine.genetics.statement import Genotypes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]

NONE = 1e-9
"""Chances below this are rounding, not inheritance."""


def blocked_pairs(
    catalogue: Catalogue,
    sires: Sequence[Genotypes],
    dams: Sequence[Genotypes],
    reasons: Mapping[str, str],
) -> Bools:
    """[sire, dam]: whether a blocking caution without the keeper's reason stands against the pair."""
    import numpy as np

    found = np.zeros((len(sires), len(dams)), dtype=bool)
    if not found.size:
        return found
    levels = {rule.id: rule.level for rule in catalogue.rules}
    chances = harm_chances(catalogue, stock(sires, male=True), stock(dams, male=False))
    for name, p in chances.items():
        if levels[name] == BLOCK and name not in reasons:
            found |= p > NONE
    found |= np.array([_own(s, {}, "sire", catalogue, reasons) for s in sires], dtype=bool)[:, None]
    found |= np.array([_own({}, d, "dam", catalogue, reasons) for d in dams], dtype=bool)[None, :]
    return found


def _own(
    sire: Genotypes, dam: Genotypes, about: str, catalogue: Catalogue, reasons: Mapping[str, str]
) -> bool:
    """Whether a parent is not to be bred at all, whatever the mate."""
    held = (sire or dam).keys()
    genes = {allele.name for locus in held for allele in locus.alleles}
    rules = [r for r in catalogue.rules if r.about == about and r.level == BLOCK and r.id not in reasons]
    names = {r.id for r in rules if genes & {catalogue.aliases.get(g, g) for g in r.genes}}
    return bool(names) and any(c.id in names for c in cautions(cross(sire, dam), sire, dam, catalogue))


def said_of(
    catalogue: Catalogue, sire: Genotypes, dam: Genotypes, reasons: Mapping[str, str]
) -> tuple[Caution, ...]:
    """Every caution on one pair, with the keeper's reasons."""
    return overridden(cautions(cross(sire, dam), sire, dam, catalogue), reasons)
