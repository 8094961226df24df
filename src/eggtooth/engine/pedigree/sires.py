"""Who fathered each clutch, and each egg: from who was with the dam, and from what hatched, all loci
together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from itertools import combinations
from math import comb
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.facts import biology
from eggtooth.engine.pedigree.carriers import Carriers, carriers
from eggtooth.engine.pedigree.company import Company, companies
from eggtooth.engine.pedigree.evidence import Rates
from eggtooth.engine.pedigree.locus_model import LocusModel

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.facts.inheritance import Catalogue

    Floats = NDArray[np.float64]

MOST_MIXED_EGGS = 12
BETA_SHARE = (3, 3)
"""Share of the first of two sires in a mixed clutch: Beta(3, 3) (our choice)."""


@dataclass(frozen=True)
class ClutchSires:
    """Odds on one clutch. `sires` by tag and `no_sire` sum to 1 over the whole clutch's eggs taken at random.

    `two_sires`: chance that the clutch has two; `eggs`: odds by egg.
    """

    key: tuple[str, ...]
    clutch: str
    dam: str
    sires: Mapping[str, float]
    no_sire: float
    two_sires: float
    eggs: Mapping[str, Mapping[str, float]]


@dataclass(frozen=True)
class PaternitySettings:
    """`per_egg`: each egg may have its own sire, by the prior odds; `two_sires`: prior chance of a clutch
    with two.

    `two_sires` None: as the facts say where the log shows two males; where the keeper named the candidates,
    only when one sire cannot explain the clutch.
    """

    per_egg: bool = False
    two_sires: float | None = None


def sire_odds(colony: Colony) -> dict[tuple[str, ...], Mapping[str, float]]:
    """Prior odds by clutch key, for `carriers` and `lineage`; clutches with one certain sire are left out."""
    return {c.key: c.sires for c in companies(colony) if len(c.sires) > 1 or (c.sires and not c.recorded)}


def sires(
    colony: Colony,
    catalogue: Catalogue,
    rates: Rates | None = None,
    settings: PaternitySettings | None = None,
) -> list[ClutchSires]:
    """Posterior odds on the sires of every clutch of a known dam, in the order of the animals.

    One sire for a clutch: exact over the whole pedigree and all loci. Two sires, or none: from the odds of
    dam and candidates without this clutch, taken as independent of each other. Cost: `carriers`, and 2^eggs
    for each pair of candidates where two sires are considered.
    """
    chosen = settings or PaternitySettings()
    groups = companies(colony)
    whole = carriers(colony, catalogue, rates, sire_odds(colony), per_egg=chosen.per_egg)
    odd = [c for c in groups if _needs_hypotheses(c, chosen, whole)]
    without = carriers(_without(colony, odd), catalogue, rates, sire_odds(colony)) if odd else whole
    return [
        _weighed(c, whole, without, chosen) if c in odd else _plain(c, colony, whole, chosen) for c in groups
    ]


def _plain(company: Company, colony: Colony, whole: Carriers, settings: PaternitySettings) -> ClutchSires:
    """One certain sire, an unknown one, or odds straight from the whole pedigree."""
    eggs = {egg: _of_egg(company, egg, whole, settings) for egg in company.eggs}
    return ClutchSires(company.key, _name(company), company.dam, _mean(list(eggs.values())), 0.0, 0.0, eggs)


def _of_egg(company: Company, egg: str, whole: Carriers, settings: PaternitySettings) -> dict[str, float]:
    if len(company.sires) < 2:
        return dict(company.sires)
    row = whole.skeleton.sire[whole.skeleton.position[egg]]
    for k, choice in enumerate(whole.skeleton.chosen):
        if choice.row == row:
            tags = [whole.skeleton.rows[c].tag for c in choice.candidates]
            return dict(zip(tags, whole.sires[k].tolist(), strict=True))
    animal = whole.evidence.colony.animals[egg]
    return {s: 1 / len(animal.sires) for s in animal.sires}


def _mean(odds: Sequence[Mapping[str, float]]) -> dict[str, float]:
    tags = dict.fromkeys(t for o in odds for t in o)
    return {t: sum(o.get(t, 0.0) for o in odds) / len(odds) for t in tags}


def _name(company: Company) -> str:
    return company.key[1] if len(company.key) > 1 else company.key[0]


# Two sires, or none
# ------------------------------------------------------------------------------------------
def _needs_hypotheses(company: Company, settings: PaternitySettings, whole: Carriers) -> bool:
    """Whether anything but one sire from the list is worth weighing."""
    if settings.per_egg or not company.sires:
        return False
    if settings.two_sires:
        return len(company.sires) > 1
    if company.recorded:
        return company.several and (company.key in whole.clashing or _doubted(company, whole))
    return True


def _doubted(company: Company, whole: Carriers) -> bool:
    return any(set(company.eggs) & set(c.tags) for c in whole.contradictions)


def _without(colony: Colony, groups: Sequence[Company]) -> Colony:
    """The colony with these clutches' hatchlings cut off from their parents."""
    cut = {egg for group in groups for egg in group.eggs}
    return replace(
        colony,
        animals={
            tag: replace(a, sires=(), dam="", clutch="") if tag in cut else a
            for tag, a in colony.animals.items()
        },
    )


def _weighed(
    company: Company, whole: Carriers, without: Carriers, settings: PaternitySettings
) -> ClutchSires:
    """Weigh one sire, two sires and no sire by how well each explains the clutch."""
    males = list(company.sires)
    single, pairs, none = _hypotheses(company, without, males)
    prior_two = _prior_two(company, settings)
    weights: dict[tuple[int, ...], float] = {}
    for k, male in enumerate(males):
        weights[(k,)] = company.sires[male] * (1 - prior_two) * single[k]
    lots = [company.sires[males[j]] * company.sires[males[k]] for j, k in pairs]
    for (j, k), (chance, _) in pairs.items():
        weights[j, k] = prior_two * company.sires[males[j]] * company.sires[males[k]] / sum(lots) * chance
    weights[()] = company.none * none
    total = sum(weights.values())
    if total == 0:
        return _plain(company, whole.evidence.colony, whole, settings)
    odds = {h: w / total for h, w in weights.items()}
    eggs = {egg: _egg_odds(i, males, odds, pairs) for i, egg in enumerate(company.eggs)}
    two = sum(p for h, p in odds.items() if len(h) == 2)
    return ClutchSires(
        company.key, _name(company), company.dam, _mean(list(eggs.values())), odds[()], two, eggs
    )


def _prior_two(company: Company, settings: PaternitySettings) -> float:
    if settings.two_sires is not None and settings.two_sires > 0:
        return settings.two_sires
    return biology.TWO_SIRES.value if company.several else 0.0


def _egg_odds(
    egg: int,
    males: Sequence[str],
    odds: Mapping[tuple[int, ...], float],
    pairs: Mapping[tuple[int, int], tuple[float, Floats]],
) -> dict[str, float]:
    out = {m: odds.get((k,), 0.0) for k, m in enumerate(males)}
    for (j, k), (_, first) in pairs.items():
        out[males[j]] += odds[j, k] * float(first[egg])
        out[males[k]] += odds[j, k] * float(1 - first[egg])
    return out


def _hypotheses(
    company: Company, without: Carriers, males: Sequence[str]
) -> tuple[list[float], dict[tuple[int, int], tuple[float, Floats]], float]:
    """Chance of the clutch's records under each single sire, each pair of sires (and who has which egg), and
    none."""
    import numpy as np

    loci = [_Local(without, name, company, males) for name in without.loci]
    single = [float(np.prod([local.one(k) for local in loci])) for k in range(len(males))]
    pairs = {}
    eggs = len(company.eggs)
    if len(males) > 1 and eggs <= MOST_MIXED_EGGS:
        lots = np.array([[(z >> e) & 1 for e in range(eggs)] for z in range(2**eggs)])
        prior = np.array([_share(int(first), eggs) for first in lots.sum(axis=1)])
        for j, k in combinations(range(len(males)), 2):
            chance = prior * reduce(
                np.multiply, [local.two(j, k, lots) for local in loci], np.ones(len(lots))
            )
            total = float(chance.sum())
            first = chance @ lots / total if total > 0 else np.full(eggs, 0.5)
            pairs[j, k] = (total, first)
    females = all(without.evidence.colony.animals[e].sex is not Sex.MALE for e in company.eggs)
    none = float(np.prod([local.nobody() for local in loci])) if females else 0.0
    return single, pairs, none


def _share(first: int, eggs: int) -> float:
    """P(this particular split) when the first sire's share is Beta(3, 3)."""
    from scipy.special import beta

    a, b = BETA_SHARE
    return float(beta(a + first, b + eggs - first) / beta(a, b)) if comb(eggs, first) else 0.0


class _Local:
    """One locus of one clutch: odds of dam and males without it, and each egg's record."""

    def __init__(self, without: Carriers, name: str, company: Company, males: Sequence[str]) -> None:
        self.model: LocusModel = without.loci[name].model
        self.dam = self._odds(without, name, company.dam)
        self.males = [self._odds(without, name, m) for m in males]
        evidence = without.evidence
        rows = [evidence.skeleton.position[e] for e in company.eggs]
        self.seen = [evidence.likelihood.look_of(self.model, row) for row in rows]
        offspring = self.model.segregation.offspring
        self.fits = [offspring @ seen for seen in self.seen]

    def _odds(self, without: Carriers, name: str, tag: str) -> Floats:
        import numpy as np

        odds = without.odds(tag, name)
        male = without.evidence.colony.animals[tag].sex is Sex.MALE
        out = np.zeros(len(self.model.written))
        for written, p in odds.items():
            out[self.model.states[male][written]] = p
        return out

    def one(self, k: int) -> float:
        """P(records | this sire for all)."""
        import numpy as np

        return float(self.males[k] @ reduce(np.multiply, self.fits) @ self.dam)

    def two(self, j: int, k: int, lots: NDArray[np.int64]) -> Floats:
        """P(records | who of two has which egg), for every lot [lots, eggs] (1: the first)."""
        import numpy as np

        size = len(self.dam)
        out = np.ones((len(lots), size, size, size))
        for e, fit in enumerate(self.fits):
            mine = lots[:, e].astype(bool)[:, None, None, None]
            out *= np.where(mine, fit[None, :, None, :], fit[None, None, :, :])
        return np.asarray(np.einsum("zjkd,j,k,d->z", out, self.males[j], self.males[k], self.dam))

    def nobody(self) -> float:
        """P(records | half-clones of the dam: each locus two copies of one of hers, terminal fusion)."""
        import numpy as np

        s = self.model.segregation
        clones = np.zeros((len(self.dam), len(self.dam)))
        for state, (a, b) in enumerate(s.genotypes):
            for allele in (a, b):
                clones[state, s.genotypes.index((allele, allele))] += 0.5
        return float(self.dam @ reduce(np.multiply, [clones @ seen for seen in self.seen]))
