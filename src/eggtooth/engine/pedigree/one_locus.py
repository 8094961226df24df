"""One locus answered: as it was, from what it was, or from nothing."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING

from eggtooth.engine.facts.inheritance import Locus
from eggtooth.engine.pedigree.answers import Carriers, LocusAnswer
from eggtooth.engine.pedigree.contradictions import Contradiction, contradiction
from eggtooth.engine.pedigree.domains import Sooner
from eggtooth.engine.pedigree.evidence import Evidence, Question, Record
from eggtooth.engine.pedigree.family import Family, Impossible
from eggtooth.engine.pedigree.growing import extended
from eggtooth.engine.pedigree.lined_up import LinedUp
from eggtooth.engine.pedigree.network import Network, build
from eggtooth.engine.pedigree.news import News
from eggtooth.engine.pedigree.peeling import solve
from eggtooth.engine.pedigree.pieces import Piece
from eggtooth.engine.pedigree.reusing import Kept, Reuse
from eggtooth.engine.pedigree.unfolding import Before, finish

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

MOST_CONTRADICTIONS = 60


class Answering:
    """Going through the loci. `known`: the answer before, when the pedigree then is a beginning of this
    one; `contradictions`: those met so far."""

    def __init__(
        self, evidence: Evidence, seed: int, budget: int, before: Carriers | None, known: Carriers | None
    ) -> None:
        self.evidence, self.seed, self.budget, self.before, self.known = evidence, seed, budget, before, known
        self.news = News.of(evidence, known.evidence) if known else None
        self.contradictions: list[Contradiction] = []
        self.doubted: dict[Locus, list[Record]] = {locus: [] for locus in evidence.loci}

    def answer(self, locus: Locus, odds: Mapping[int, Floats]) -> LocusAnswer:
        """Answer one locus, naming contradictions and doubting their records until it can be answered."""
        doubted = self.doubted[locus]
        old = self._unmoved(locus)
        if old is not None:
            return old
        sooner, changed = self._sooner(locus)
        for _ in range(MOST_CONTRADICTIONS):
            if doubted:
                sooner = None
            question = self.evidence.question(locus, odds, doubted, sooner=sooner, changed=changed)
            kept = self._kept(locus, question)
            if kept is not None:
                return kept
            try:
                return self.solved(question, locus)
            except Impossible as found:
                rows = [int(question.rows[r]) for r in found.rows]
                named = contradiction(self.evidence, locus, rows, doubted)
                self.contradictions.append(named)
                doubted += named.records
        raise Impossible(())

    def _unmoved(self, locus: Locus) -> LocusAnswer | None:
        """The answer before, where nothing reaches the locus; with young of certain parents added, where
        that is all that does."""
        old = self.known.loci.get(locus.name) if self.known else None
        if old is None or old.chosen or self.known is None or self.news is None:
            return None
        named = [c for c in self.known.contradictions if c.locus == locus.name]
        wild = [w == (0, 0) for w in old.model.written].index(True)
        may = old.rows[old.posterior.p[:, wild] < 1]
        if not self.news.touches(locus.name, old.rows, may):
            self.contradictions += named
            return old
        if named or self.news.changes(locus.name, old.rows):
            return None
        more = extended(old.question, old.posterior, self.evidence, self.news.first)
        return None if more is None else LocusAnswer(*more, old.tangled, old.kept)

    def _sooner(self, locus: Locus) -> tuple[Question | None, Collection[int]]:
        """The question asked before, when it is known which rows are noted otherwise now."""
        old = self.known.loci.get(locus.name) if self.known else None
        if old is None or self.news is None or self.news.everywhere:
            return None, ()
        return old.question, self.news.changed

    def _kept(self, locus: Locus, question: Question) -> LocusAnswer | None:
        """The answer given before, when nothing about the locus changed."""
        import numpy as np

        old = self.before.loci.get(locus.name) if self.before else None
        if old is None or old.model.alleles != question.model.alleles:
            return None
        mine, its = question.family, old.question.family
        same = (
            mine.table.shape == its.table.shape
            and np.array_equal(mine.table, its.table)
            and np.array_equal(mine.sire, its.sire)
            and np.array_equal(mine.dam, its.dam)
            and not mine.picks
            and not its.picks
        )
        return None if not same else LocusAnswer(question, old.posterior, old.tangled, old.kept)

    def solved(self, question: Question, locus: Locus) -> LocusAnswer:
        from eggtooth.engine.pedigree.sampling import sample

        before = self._answered_before(locus, question)
        if before is None:
            network, reuse = build(question.family), None
        else:
            lined = LinedUp(before.rows, question.rows)
            network = _laid_out(question.family, lined.possible(before.network, question.family))
            reuse = Reuse(before, lined, network)
        known = reuse.known(lambda: self._luck(locus), self.budget) if reuse else {}
        pieces, tangles = solve(network, self.budget, known)
        pieces += {id(piece): piece for piece in known.values()}.values()
        pieces += [sample(tangle, self._luck(locus)) for tangle in tangles]
        drawn = [v for piece in pieces if piece.core for v, each in piece.each.items() if len(each) > 1]
        tangled = self._tags(question, drawn)
        kept = Kept(question.rows, network, tuple(pieces))
        same = self._same(locus, reuse, pieces)
        return LocusAnswer(question, finish(network, pieces, same), tangled, kept)

    def _tags(self, question: Question, unknowns: Sequence[int]) -> tuple[str, ...]:
        """Tags of the animals among some unknowns of a question."""
        import numpy as np

        places, skeleton = np.array(unknowns, dtype=np.int64), self.evidence.skeleton.rows
        rows = question.rows[places[places < len(question.rows)]].tolist()
        return tuple(sorted([tag for row in rows if (tag := skeleton[row].tag)]))

    def _same(self, locus: Locus, reuse: Reuse | None, pieces: Sequence[Piece]) -> Before | None:
        """Which odds need not be read again, where rows and answer before are in one order."""
        import numpy as np

        if reuse is None or self.known is None or reuse.new.family.picks or reuse.old.family.picks:
            return None
        old, rows = self.known.loci[locus.name], reuse.before.rows
        if not np.array_equal(old.rows[: len(rows)], rows):
            return None
        return Before(old.posterior, reuse.source, reuse.same(pieces))

    def _answered_before(self, locus: Locus, question: Question) -> Kept | None:
        """The locus as it was answered before, if it was."""
        old = self.known.loci.get(locus.name) if self.known else None
        return old.kept if old and old.model.alleles == question.model.alleles else None

    def _luck(self, locus: Locus) -> np.random.Generator:
        """Chance from a seed of the locus's own, so that one locus does not move another."""
        import numpy as np

        own = int.from_bytes(locus.name.encode(), "little") % 2**32
        return np.random.default_rng([self.seed, own])


def _laid_out(family: Family, sooner: Sooner | None) -> Network:
    """The network; what cannot be is shown at the same rows as without help from before."""
    try:
        return build(family, sooner)
    except Impossible:
        return build(family)
