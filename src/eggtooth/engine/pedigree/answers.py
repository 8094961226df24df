"""The answer to who carries what: one locus, and all of them together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from eggtooth.engine.facts.inheritance import Genotype as Written
from eggtooth.engine.facts.inheritance import Locus
from eggtooth.engine.pedigree.contradictions import Contradiction
from eggtooth.engine.pedigree.evidence import Evidence, Question
from eggtooth.engine.pedigree.family import Posterior
from eggtooth.engine.pedigree.locus_model import LocusModel
from eggtooth.engine.pedigree.pieces import UNSETTLED
from eggtooth.engine.pedigree.reusing import Kept
from eggtooth.engine.pedigree.skeleton import Skeleton

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LocusAnswer:
    """One locus: the question asked and what is known then.

    `tangled`: tags of breeders answered by sampling, empty when all is exact; `kept`: the pieces it was
    answered by, for the next time.
    """

    question: Question
    posterior: Posterior
    tangled: tuple[str, ...] = ()
    kept: Kept | None = None

    @cached_property
    def places(self) -> Mapping[int, int]:
        """Row of the posterior by skeleton row."""
        return {row: at for at, row in enumerate(self.rows.tolist())}

    @property
    def model(self) -> LocusModel:
        """The locus with the alleles in play."""
        return self.question.model

    @property
    def rows(self) -> NDArray[np.int64]:
        """Skeleton rows of the posterior's rows."""
        return self.question.rows

    @property
    def chosen(self) -> tuple[int, ...]:
        """The skeleton's choices that touch this locus."""
        return self.question.chosen


@dataclass(frozen=True)
class Carriers:
    """The whole answer.

    `loci` by name; `sires`: posterior odds of each uncertain sire, by place in `skeleton.chosen`; `linked`:
    clutches with uncertain sires were taken one at a time across loci (see `carriers.WORLDS`), so that their
    odds are close, not exact;
    `clashing`: keys of clutches that no single candidate can have sired; their eggs are taken one by one.
    """

    evidence: Evidence
    loci: Mapping[str, LocusAnswer]
    contradictions: tuple[Contradiction, ...]
    sires: tuple[Floats, ...]
    linked: bool = False
    clashing: frozenset[tuple[str, ...]] = frozenset()

    @property
    def skeleton(self) -> Skeleton:
        """The rows shared by all loci."""
        return self.evidence.skeleton

    def place(self, tag: str, locus: str) -> int:
        """Row of an animal in the posterior of a locus; -1: surely wild type."""
        answer = self.loci.get(locus)
        return -1 if answer is None else answer.places.get(self.skeleton.position.get(tag, -1), -1)

    def odds(self, tag: str, locus: str) -> dict[Written, float]:
        """Genotypes of an animal at a locus with positive probability (catalogue indices; a male's as X,
        Y)."""
        place = self.place(tag, locus)
        if place < 0:
            return {Written(0, 0): 1.0}
        answer = self.loci[locus]
        p = answer.posterior.p[place]
        return {w: float(p[i]) for i, w in enumerate(answer.model.written) if p[i] > 0}

    def error(self, tag: str, locus: str) -> float:
        """Largest standard error among the animal's genotypes there; 0 where the answer is exact."""
        place = self.place(tag, locus)
        error = self.loci[locus].posterior.error if place >= 0 else None
        return 0.0 if error is None else float(error[place].max())

    def settled(self, tag: str, locus: str) -> bool:
        """Whether the odds there are exact, or sampled by chains that agree (see `UNSETTLED`)."""
        return self.error(tag, locus) <= UNSETTLED

    def animal(self, tag: str) -> Iterator[tuple[Locus, dict[Written, float]]]:
        """Loci at which an animal is not surely wild type, by name."""
        for name, answer in self.loci.items():
            odds = self.odds(tag, name)
            if set(odds) != {Written(0, 0)}:
                yield answer.model.locus, odds
