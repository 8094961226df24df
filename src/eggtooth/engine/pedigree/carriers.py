"""Who carries what, given everything noted: every animal, every locus, families with loops, exactly where it
can be."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from math import exp, prod
from typing import TYPE_CHECKING

from eggtooth.engine.facts.inheritance import Genotype as Written
from eggtooth.engine.facts.inheritance import Locus
from eggtooth.engine.pedigree.contradictions import Contradiction, contradiction
from eggtooth.engine.pedigree.domains import Sooner
from eggtooth.engine.pedigree.evidence import Evidence, Question, Rates, Record
from eggtooth.engine.pedigree.family import Family, Impossible, Posterior
from eggtooth.engine.pedigree.growing import extended
from eggtooth.engine.pedigree.lined_up import LinedUp
from eggtooth.engine.pedigree.locus_model import LocusModel
from eggtooth.engine.pedigree.network import Network, build
from eggtooth.engine.pedigree.news import News
from eggtooth.engine.pedigree.peeling import BUDGET_CELLS, solve
from eggtooth.engine.pedigree.pieces import UNSETTLED, Piece
from eggtooth.engine.pedigree.reusing import Kept, Reuse
from eggtooth.engine.pedigree.skeleton import Chosen, SireOdds, Skeleton, skeleton
from eggtooth.engine.pedigree.unfolding import Before, finish

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.colony import Colony
    from eggtooth.engine.facts.inheritance import Catalogue

    Floats = NDArray[np.float64]

WORLDS = 64
"""Combinations of uncertain sires up to which all are gone through; beyond, clutches are taken one at a
time."""
ROUNDS = 12
MOST_CONTRADICTIONS = 60


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
    clutches with uncertain sires were taken one at a time across loci (see `WORLDS`), so that their odds are
    close, not exact;
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


def carriers(
    colony: Colony,
    catalogue: Catalogue,
    rates: Rates | None = None,
    sire_odds: SireOdds | None = None,
    per_egg: bool = False,
    seed: int = 0,
    budget: int = BUDGET_CELLS,
    before: Carriers | None = None,
) -> Carriers:
    """Posterior genotypes of a colony.

    A founder carries what its text says; every other animal what the pedigree says, its text being evidence.
    Exact, but for families beyond `budget` table cells (sampled from `seed`, error stated). Records that
    cannot all be true are named, and each is then taken as wrong with `Rates.mistake`. With `before`, only
    what was added or changed since is worked out again. Raises `NotationError`, `CircularDescent`. Cost:
    see `peeling` and `sampling`.
    """
    layout = skeleton(colony, sire_odds, per_egg)
    known = before if before and _grown(layout, catalogue, rates or Rates(), before.evidence) else None
    evidence = Evidence(colony, catalogue, layout, rates or Rates(), known.evidence if known else None)
    found = _Answering(evidence, seed, budget, before, known).answered()
    if not found.clashing or per_egg:
        return found
    apart = Evidence(colony, catalogue, skeleton(colony, sire_odds, found.clashing), rates or Rates())
    return replace(_Answering(apart, seed, budget, before, None).answered(), clashing=found.clashing)


class _Answering:
    """Going through the loci. `known`: the answer before, when the pedigree then is a beginning of this
    one."""

    def __init__(
        self, evidence: Evidence, seed: int, budget: int, before: Carriers | None, known: Carriers | None
    ) -> None:
        self.evidence, self.seed, self.budget, self.before, self.known = evidence, seed, budget, before, known
        self.news = News.of(evidence, known.evidence) if known else None
        self.contradictions: list[Contradiction] = []
        self.doubted: dict[Locus, list[Record]] = {locus: [] for locus in evidence.loci}

    def answered(self) -> Carriers:
        """All loci, and what they say together on uncertain sires."""
        choices = self.evidence.skeleton.chosen
        worlds = prod(len(c.odds) for c in choices)
        if not choices:
            answers = {locus.name: self._locus(locus, {}) for locus in self.evidence.loci}
            return self._whole(answers, (), linked=False)
        first = {locus: self._locus(locus, {}) for locus in self.evidence.loci}
        touched = [locus for locus in first if first[locus].chosen]
        if worlds <= WORLDS and all(not first[locus].tangled for locus in touched):
            return self._every_world(first, touched)
        return self._one_at_a_time(first, touched)

    # One locus
    # -----------------------------------------------------------------------------------------------
    def _locus(self, locus: Locus, odds: Mapping[int, Floats]) -> LocusAnswer:
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
                return self._answer(question, locus)
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

    def _answer(self, question: Question, locus: Locus) -> LocusAnswer:
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

    # Uncertain sires
    # -----------------------------------------------------------------------------------------
    def _every_world(self, first: Mapping[Locus, LocusAnswer], touched: list[Locus]) -> Carriers:
        """Go through every combination of sires; loci are independent within one."""
        import numpy as np

        choices = self.evidence.skeleton.chosen
        weights, worlds = [], []
        for world in product(*(range(len(c.odds)) for c in choices)):
            fixed = {k: np.eye(len(c.odds))[w] for k, (c, w) in enumerate(zip(choices, world, strict=True))}
            found = self._world(touched, fixed)
            if found is not None:
                prior = prod(c.odds[w] for c, w in zip(choices, world, strict=True))
                weights.append((sum(a.posterior.log_evidence for a in found.values()), prior))
                worlds.append((world, found))
        if not worlds:
            return self._one_at_a_time(first, touched)
        top = max(log_chance for log_chance, _ in weights)
        share = np.array([exp(log_chance - top) * prior for log_chance, prior in weights])
        share /= share.sum()
        answers = {locus.name: answer for locus, answer in first.items()}
        for locus in touched:
            p = sum(s * found[locus].posterior.p for s, (_, found) in zip(share, worlds, strict=True))
            mixed = Posterior(np.asarray(p), float("nan"), ())
            answers[locus.name] = LocusAnswer(first[locus].question, mixed)
        sires = tuple(
            np.asarray(
                np.bincount([world[k] for world, _ in worlds], share, minlength=len(c.odds)), dtype=float
            )
            for k, c in enumerate(choices)
        )
        return self._whole(answers, sires, linked=False)

    def _world(self, touched: list[Locus], fixed: Mapping[int, Floats]) -> dict[Locus, LocusAnswer] | None:
        out = {}
        for locus in touched:
            try:
                out[locus] = self._answer(self.evidence.question(locus, fixed, self.doubted[locus]), locus)
            except Impossible:
                return None
        return out

    def _one_at_a_time(self, first: Mapping[Locus, LocusAnswer], touched: list[Locus]) -> Carriers:
        """Pass each locus what the others say of each uncertain sire, until nothing moves.

        Exact when no two uncertain clutches share a locus's family; otherwise the others' message is taken as
        a product over clutches.
        """
        import numpy as np

        choices = self.evidence.skeleton.chosen
        answers, priors = dict(first), [np.array(c.odds) for c in choices]
        given: dict[Locus, dict[int, Floats]] = {locus: {} for locus in touched}
        together = priors
        clashing: set[tuple[str, ...]] = set()
        for _ in range(ROUNDS):
            says = {locus: _says(answers[locus], given[locus], choices) for locus in touched}
            joint = [prior * _product(says, k) for k, prior in enumerate(priors)]
            clashing |= {choices[k].key for k, odds in enumerate(joint) if not odds.sum() > 0}
            now = [_normal(odds) for odds in joint]
            moved = max((float(abs(a - b).max()) for a, b in zip(now, together, strict=True)), default=0.0)
            together = now
            if moved < 1e-10:
                break
            for locus in touched:
                others = {
                    k: priors[k]
                    if choices[k].key in clashing  # no candidate fits all loci: none may rule the others out
                    else _normal(priors[k] * _product({o: s for o, s in says.items() if o != locus}, k))
                    for k in answers[locus].chosen
                }
                given[locus] = others
                answers[locus] = self._locus(locus, others)
        crowded = any(len(answers[locus].chosen) > 1 for locus in touched)
        found = self._whole({o.name: a for o, a in answers.items()}, tuple(together), linked=crowded)
        return replace(found, clashing=frozenset(clashing))

    def _whole(self, answers: Mapping[str, LocusAnswer], sires: tuple[Floats, ...], linked: bool) -> Carriers:
        once = {(c.locus, c.records): c for c in self.contradictions}
        return Carriers(self.evidence, answers, tuple(once.values()), sires, linked)


def _laid_out(family: Family, sooner: Sooner | None) -> Network:
    """The network; what cannot be is shown at the same rows as without help from before."""
    try:
        return build(family, sooner)
    except Impossible:
        return build(family)


def _says(answer: LocusAnswer, given: Mapping[int, Floats], choices: tuple[Chosen, ...]) -> dict[int, Floats]:
    """What one locus says of each choice: its posterior odds over the odds it was given."""
    import numpy as np

    out = {}
    for k, after in zip(answer.chosen, answer.posterior.picked, strict=True):
        odds = given.get(k, np.array(choices[k].odds))
        out[k] = np.divide(after, odds, out=np.zeros_like(after), where=odds > 0)
    return out


def _product(says: Mapping[Locus, Mapping[int, Floats]], k: int) -> Floats:
    import numpy as np

    return np.prod([said[k] for said in says.values() if k in said] or [np.ones(1)], axis=0)  # type: ignore[no-any-return]


def _normal(odds: Floats) -> Floats:
    total = odds.sum()
    return odds / total if total > 0 else odds * 0 + 1 / len(odds)


def _grown(layout: Skeleton, catalogue: Catalogue, rates: Rates, before: Evidence) -> bool:
    """Whether the pedigree is the one before with animals added after the others; records may differ."""
    old = before.skeleton
    rows = len(old.rows)
    return (
        rates == before.rates
        and catalogue is before.catalogue
        and layout.rows[:rows] == old.rows
        and layout.sire[:rows] == old.sire
        and layout.dam[:rows] == old.dam
        and layout.clutches[:rows] == old.clutches
        and layout.chosen == old.chosen
        and layout.position.keys() >= old.position.keys()
    )
