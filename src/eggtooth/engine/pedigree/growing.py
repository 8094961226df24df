"""Animals added to a locus where nothing can flow back: young of parents whose genotype is certain."""

from __future__ import annotations

from dataclasses import replace
from math import log
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.evidence import Evidence, Question
from eggtooth.engine.pedigree.family import Family, Posterior

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


def extended(
    question: Question, known: Posterior, evidence: Evidence, first: int
) -> tuple[Question, Posterior] | None:
    """The question and answer with the skeleton rows from `first` on added, or None when it takes more than
    that.

    Exact: with both parents certain, a hatchling's record says nothing of anybody else. Parents that were not
    taken in before are surely wild type and come just before their young, so rows are no longer ascending.
    Cost: linear in the locus's rows.
    """
    import numpy as np

    model, layout = question.model, evidence.skeleton
    wild = np.array([w == (0, 0) for w in model.written], dtype=float)
    new = np.arange(first, len(layout.rows))
    if evidence.model(model.locus).alleles != model.alleles or evidence.stand_in[new].any():
        return None
    place = np.full(len(layout.rows), -1)
    place[question.rows] = np.arange(len(question.rows))
    rows: list[int] = []
    sire: list[int] = []
    dam: list[int] = []
    table: list[Floats] = []
    p: list[Floats] = []
    total = 0.0
    seen = evidence.likelihood.tables(model, new)

    def odds_of(row: int) -> Floats:
        at = int(place[row]) - len(known.p)
        return np.asarray(known.p[int(place[row])] if at < 0 else p[at])

    def add(row: int, father: int, mother: int, own: Floats, odds: Floats) -> None:
        place[row] = len(known.p) + len(p)
        rows.append(row)
        sire.append(father)
        dam.append(mother)
        table.append(own)
        p.append(odds)

    for own, row in zip(seen, new.tolist(), strict=True):
        parents = layout.sire[row], layout.dam[row]
        if parents[0] < 0:
            return None
        for parent in parents:
            if evidence.stand_in[parent] or parent in evidence.open_founders:
                return None  # what the young are noted with is all that is known of such a parent
            if place[parent] < 0:
                add(parent, -1, -1, wild, wild)
        one, other = odds_of(parents[0]), odds_of(parents[1])
        if one.max() < 1 or other.max() < 1:
            return None
        odds = model.segregation.offspring[one.argmax(), other.argmax()] * own
        if odds.sum() == 0:
            return None
        total += log(float(odds.sum()))
        add(row, int(place[parents[0]]), int(place[parents[1]]), own, odds / odds.sum())
    return _joined(question, known, (rows, sire, dam, table, p), total)


def _joined(
    question: Question,
    known: Posterior,
    more: tuple[list[int], list[int], list[int], list[Floats], list[Floats]],
    total: float,
) -> tuple[Question, Posterior]:
    import numpy as np

    rows, sire, dam, table, p = more
    old = question.family
    family = Family(
        old.segregation,
        np.append(old.sire, sire),
        np.append(old.dam, dam),
        np.concatenate([old.table, table]),
        old.picks,
    )
    error = (
        None if known.error is None else np.concatenate([known.error, np.zeros((len(p), old.table.shape[1]))])
    )
    answer = Posterior(np.concatenate([known.p, p]), known.log_evidence + total, known.picked, error)
    plain = np.append(question.plain, np.zeros(len(p), dtype=bool))
    return replace(question, rows=np.append(question.rows, rows), family=family, plain=plain), answer
