"""What came to a colony's records since they were last asked, and which loci it reaches."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.evidence import Evidence

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class News:
    """Skeleton rows from `first` on are new; `changed`: rows recorded otherwise than `before`; `spoken`:
    loci their records speak of or did; `added`: loci that the new rows' records speak of; `everywhere`: it
    may reach any locus."""

    evidence: Evidence
    first: int
    changed: frozenset[int]
    spoken: frozenset[str]
    added: frozenset[str]
    everywhere: bool

    @classmethod
    def of(cls, evidence: Evidence, before: Evidence) -> News:
        """Compare the records."""
        tags, place = evidence.said.changed, evidence.skeleton.position
        first = len(before.skeleton.rows)
        old = [tag for tag in tags or () if place[tag] < first]
        new = [tag for tag in tags or () if place[tag] >= first]
        rows = frozenset(place[tag] for tag in old)
        spoken = {name for tag in old for said in (evidence.said, before.said) for name in said.loci_of(tag)}
        added = {name for tag in new for name in evidence.said.loci_of(tag)}
        # a founder whose look is not noted may carry what its young are noted with
        opened = {r for r in evidence.open_founders if r < first} ^ set(before.open_founders)
        everywhere = tags is None or bool(opened)
        return cls(evidence, first, rows, frozenset(spoken), frozenset(added), everywhere)

    @cached_property
    def parents(self) -> list[int]:
        """Rows of the new rows' parents."""
        sires, dams = self.evidence.skeleton.sire[self.first :], self.evidence.skeleton.dam[self.first :]
        return sorted({*sires, *dams} - {-1})

    def touches(self, locus: str, rows: Ints, may: Ints) -> bool:
        """Whether anything reaches a locus; `rows`: those asked there before; `may`: those that may carry
        something."""
        import numpy as np

        if locus in self.added or self.changes(locus, rows):
            return True
        return bool(np.isin(self.parents, may).any())

    def changes(self, locus: str, rows: Ints) -> bool:
        """Whether records that the locus was asked with are other than before."""
        import numpy as np

        if self.everywhere or locus in self.spoken:
            return True
        return bool(self.changed) and bool(np.isin(list(self.changed), rows).any())
