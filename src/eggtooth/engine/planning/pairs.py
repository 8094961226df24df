"""Why two animals are not put together: too closely related, or their young would suffer."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Animal, Colony
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.house import Settings
from eggtooth.engine.pedigree.pairwise import PairKinship
from eggtooth.engine.wording import say

if TYPE_CHECKING:
    from eggtooth.engine.facts.inheritance import Locus
    from eggtooth.engine.genetics.statement import Genotypes

TOLERANCE = 1e-9


class Pairs:
    """The males and females of a colony, judged pair by pair when asked; answers are remembered."""

    def __init__(self, colony: Colony, settings: Settings) -> None:
        """Nothing is computed before the first question."""
        self.kinship = PairKinship(colony.animals)
        self._limit = settings.kinship_limit + TOLERANCE

    def against(self, male: Animal, female: Animal) -> str:
        """Why this pair is kept apart, or an empty text."""
        inbred = self.kinship(male.tag, female.tag)
        if inbred > self._limit:
            return say("related: their young would be inbred {inbred:.0%}", inbred=inbred)
        return blocked(male.genes, female.genes)


@lru_cache(maxsize=4096)
def blocked(sire_genes: str, dam_genes: str) -> str:
    """The caution that blocks a cross of two looks, or an empty text; an unread text blocks nothing."""
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
