"""Why two animals are not put together: too closely related, or their young would suffer."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Animal, Colony
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.house import Settings

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.facts.inheritance import Locus
    from eggtooth.engine.genetics.statement import Genotypes

TOLERANCE = 1e-9


class Pairs:
    """The males and females that may come together, judged pair by pair when asked.

    Kinship of all pairs is computed once, on the first question; cautions once for each two gene texts.
    """

    def __init__(
        self, colony: Colony, males: Sequence[str], females: Sequence[str], settings: Settings
    ) -> None:
        """`males` and `females` are tags of the colony."""
        self._colony, self._settings = colony, settings
        self._row = {tag: i for i, tag in enumerate(males)}
        self._column = {tag: i for i, tag in enumerate(females)}

    def against(self, male: Animal, female: Animal) -> str:
        """Why this pair is kept apart, or an empty text."""
        return self._related(male.tag, female.tag) or blocked(male.genes, female.genes)

    def kinship(self, male: str, female: str) -> float:
        """Kinship of a pair: the inbreeding their young would have."""
        return float(self._kinship[self._row[male], self._column[female]])

    def _related(self, male: str, female: str) -> str:
        kinship = self.kinship(male, female)
        if kinship <= self._settings.kinship_limit + TOLERANCE:
            return ""
        return f"related: their young would be inbred {kinship:.0%}"

    @cached_property
    def _kinship(self) -> NDArray[np.float64]:
        import numpy as np

        from eggtooth.engine.pedigree.kinship import kinship
        from eggtooth.engine.pedigree.lineage import lineage

        if not any(a.dam or a.sires for a in self._colony.animals.values()):
            return np.zeros((len(self._row), len(self._column)))
        descent = lineage(self._colony.animals)
        return kinship(descent, descent.rows(list(self._row)), descent.rows(list(self._column)))


@lru_cache(maxsize=4096)
def blocked(sire_genes: str, dam_genes: str) -> str:
    """The caution that blocks a cross of two looks, or an empty text; texts that cannot be read block nothing."""
    from eggtooth.engine.genetics.cautions import cautions
    from eggtooth.engine.genetics.crosses import cross

    sire, dam = _risky(sire_genes, True), _risky(dam_genes, False)
    if not sire and not dam:
        return ""
    found = cautions(cross(sire, dam), sire, dam, standard())
    return next((c.text for c in found if c.blocks), "")


@lru_cache(maxsize=4096)
def _risky(genes: str, male: bool) -> Genotypes:
    """What an animal holds at the loci that any blocking rule speaks of; mostly nothing, which is quick."""
    from eggtooth.engine.genetics.notation import NotationError, read

    try:
        held = read(genes, standard()).founder(male=male)
    except NotationError:
        return {}
    return {locus: odds for locus, odds in held.items() if locus in _watched()}


@lru_cache(maxsize=1)
def _watched() -> frozenset[Locus]:
    from eggtooth.engine.genetics.cautions import BLOCK, concerned

    rules = (rule for rule in standard().rules if rule.level == BLOCK)
    return frozenset(locus for rule in rules for locus in concerned(rule, standard()))
