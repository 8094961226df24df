"""Who carries what, given everything noted: every animal, every locus, families with loops, exactly where it
can be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import product
from math import exp, prod
from typing import TYPE_CHECKING

from eggtooth.engine.facts.inheritance import Locus
from eggtooth.engine.pedigree.answers import Carriers, LocusAnswer
from eggtooth.engine.pedigree.evidence import Evidence, Rates
from eggtooth.engine.pedigree.family import Impossible, Posterior
from eggtooth.engine.pedigree.one_locus import Answering
from eggtooth.engine.pedigree.peeling import BUDGET_CELLS
from eggtooth.engine.pedigree.skeleton import Chosen, SireOdds, Skeleton, skeleton

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.colony import Colony
    from eggtooth.engine.facts.inheritance import Catalogue

    Floats = NDArray[np.float64]

__all__ = ["Carriers", "LocusAnswer", "carriers"]

WORLDS = 64
"""Combinations of uncertain sires up to which all are gone through; beyond, clutches are taken one at a
time."""
ROUNDS = 12


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
    found = _Together(Answering(evidence, seed, budget, before, known)).answered()
    if not found.clashing or per_egg:
        return found
    apart = Evidence(colony, catalogue, skeleton(colony, sire_odds, found.clashing), rates or Rates())
    return replace(
        _Together(Answering(apart, seed, budget, before, None)).answered(), clashing=found.clashing
    )


class _Together:
    """All loci, and what they say together on uncertain sires."""

    def __init__(self, loci: Answering) -> None:
        self.loci, self.evidence = loci, loci.evidence

    def answered(self) -> Carriers:
        """All loci, and what they say together on uncertain sires."""
        choices = self.evidence.skeleton.chosen
        worlds = prod(len(c.odds) for c in choices)
        if not choices:
            answers = {locus.name: self.loci.answer(locus, {}) for locus in self.evidence.loci}
            return self._whole(answers, (), linked=False)
        first = {locus: self.loci.answer(locus, {}) for locus in self.evidence.loci}
        touched = [locus for locus in first if first[locus].chosen]
        if worlds <= WORLDS and all(not first[locus].tangled for locus in touched):
            return self._every_world(first, touched)
        return self._one_at_a_time(first, touched)

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
                out[locus] = self.loci.solved(
                    self.evidence.question(locus, fixed, self.loci.doubted[locus]), locus
                )
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
                answers[locus] = self.loci.answer(locus, others)
        crowded = any(len(answers[locus].chosen) > 1 for locus in touched)
        found = self._whole({o.name: a for o, a in answers.items()}, tuple(together), linked=crowded)
        return replace(found, clashing=frozenset(clashing))

    def _whole(self, answers: Mapping[str, LocusAnswer], sires: tuple[Floats, ...], linked: bool) -> Carriers:
        once = {(c.locus, c.records): c for c in self.loci.contradictions}
        return Carriers(self.evidence, answers, tuple(once.values()), sires, linked)


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
