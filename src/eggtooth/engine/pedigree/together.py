"""Odds of two animals' genotypes together: a shared family, or young they already have, ties them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from eggtooth.engine.facts.inheritance import Genotype
from eggtooth.engine.pedigree.elimination import TooTangled
from eggtooth.engine.pedigree.family import Family, Impossible
from eggtooth.engine.pedigree.peeling import posterior

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.pedigree.carriers import Carriers, LocusAnswer

    Floats = NDArray[np.float64]


CLOSE = 1e-9


@dataclass(frozen=True)
class Together:
    """`odds` [S, S] by mate: of the animal (first) and the mate, in the model's order of genotypes, sum 1.

    `exact`: whether, averaged over the animal's genotypes, everybody's odds are what they are known to be.
    They are not where several clutches of uncertain sires meet in one family (their sires are taken one by
    one), and a sampled family is not asked at all: there animal and mate are taken as independent.
    """

    odds: dict[str, Floats]
    exact: bool


def together(found: Carriers, tag: str, locus: str, mates: Iterable[str]) -> Together:
    """Each mate's genotype beside the animal's own at one locus.

    The locus is answered anew with the animal held to each of its genotypes in turn. Cost: that many answers
    of one locus. `KeyError` for a locus nobody carries anything at.
    """
    import numpy as np

    answer = found.loci[locus]
    mine = _odds(found, answer, tag)
    held = _held(_family(found, answer), answer, found.place(tag, locus))
    out = {}
    for mate in mates:
        alone = np.outer(mine, _odds(found, answer, mate))
        place = found.place(mate, locus)
        out[mate] = alone if held is None or place < 0 else _joined(mine, held, place)
    return Together(out, held is not None and _agrees(mine, held, answer))


def _family(found: Carriers, answer: LocusAnswer) -> Family | None:
    """The family asked, uncertain sires weighed by all that the other loci say of them; None when sampled."""
    family = answer.question.family
    if answer.tangled or not answer.chosen:
        return None if answer.tangled else family
    import numpy as np

    picks = []
    for pick, k, after in zip(family.picks, answer.chosen, posterior(family).picked, strict=True):
        here = np.divide(after, pick.odds, out=np.zeros_like(after), where=pick.odds > 0)
        others = np.divide(found.sires[k], here, out=np.zeros_like(after), where=here > 0)
        picks.append(replace(pick, odds=others / others.sum()) if others.sum() > 0 else pick)
    return replace(family, picks=tuple(picks))


def _agrees(mine: Floats, held: dict[int, Floats], answer: LocusAnswer) -> bool:
    """The law of total probability, for every row."""
    whole = sum(mine[state] * p for state, p in held.items())
    return float(abs(whole - answer.posterior.p).max()) < CLOSE


def _joined(mine: Floats, held: dict[int, Floats], place: int) -> Floats:
    import numpy as np

    out = np.zeros((len(mine), len(mine)))
    for state, p in held.items():
        out[state] = mine[state] * p[place]
    return out


def _held(family: Family | None, answer: LocusAnswer, place: int) -> dict[int, Floats] | None:
    """Everybody's posterior with one row held to each genotype it may have; None when it cannot be exact."""
    import numpy as np

    if family is None or place < 0:
        return None
    out = {}
    for state in np.flatnonzero(answer.posterior.p[place] > 0).tolist():
        table = family.table.copy()
        table[place] *= np.arange(table.shape[1]) == state
        try:
            out[state] = posterior(replace(family, table=table)).p
        except (Impossible, TooTangled):
            return None
    return out


def _odds(found: Carriers, answer: LocusAnswer, tag: str) -> Floats:
    """One animal's own odds, shape [S]; the surely wild type where the locus does not reach it."""
    import numpy as np

    from eggtooth.engine.colony import Sex

    place = found.place(tag, answer.model.locus.name)
    if place >= 0:
        return np.asarray(answer.posterior.p[place])
    male = found.evidence.colony.animals[tag].sex is Sex.MALE
    out = np.zeros(len(answer.model.written))
    out[answer.model.states[male][Genotype(0, 0)]] = 1
    return out
