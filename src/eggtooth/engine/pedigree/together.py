"""Odds of two animals' genotypes together: a shared family, or young they already have, ties them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from eggtooth.engine.facts.inheritance import Genotype
from eggtooth.engine.pedigree.elimination import TooTangled
from eggtooth.engine.pedigree.family import Impossible
from eggtooth.engine.pedigree.peeling import posterior

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.pedigree.carriers import Carriers, LocusAnswer

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Together:
    """`odds` [S, S] by mate: of the animal (first) and the mate, in the model's order of genotypes, sum 1.

    `exact`: false where the family is sampled, or has clutches of uncertain sires; then animal and mate are
    taken as independent (sampled) or the sires by what is known without the other loci.
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
    held = _held(answer, found.places[locus].get(tag, -1))
    out = {}
    for mate in mates:
        alone = np.outer(mine, _odds(found, answer, mate))
        place = found.places[locus].get(mate, -1)
        out[mate] = alone if held is None or place < 0 else _joined(mine, held, place)
    return Together(out, held is not None and not answer.chosen)


def _joined(mine: Floats, held: dict[int, Floats], place: int) -> Floats:
    import numpy as np

    out = np.zeros((len(mine), len(mine)))
    for state, p in held.items():
        out[state] = mine[state] * p[place]
    return out


def _held(answer: LocusAnswer, place: int) -> dict[int, Floats] | None:
    """Everybody's posterior with one row held to each genotype it may have; None when it cannot be exact."""
    import numpy as np

    if answer.tangled or place < 0:
        return None
    family, out = answer.question.family, {}
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

    place = found.places[answer.model.locus.name].get(tag, -1)
    if place >= 0:
        return np.asarray(answer.posterior.p[place])
    male = found.evidence.colony.animals[tag].sex is Sex.MALE
    out = np.zeros(len(answer.model.written))
    out[answer.model.states[male][Genotype(0, 0)]] = 1
    return out
