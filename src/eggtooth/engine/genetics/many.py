"""All males with all females at once: the chance of each wish, and of each harm, as arrays for planning."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Catalogue, Fate, Genotype, Locus
from eggtooth.engine.genetics.cautions import concerned, condition
from eggtooth.engine.genetics.statement import Genotypes, Statement
from eggtooth.engine.genetics.transmission import RECOMBINATION, gametes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

ROWS = 16
"""Males taken at a time, so that the block being multiplied stays in the processor's cache."""

COLUMNS = 8
"""Columns up to which loci are folded into one matrix product."""

BOTH = (Sex.FEMALE, Sex.MALE)


@dataclass(frozen=True)
class Wanted:
    """What a hatchling must be: at each locus named one of these unordered genotypes, and its sex if set."""

    loci: Mapping[Locus, frozenset[Genotype]]
    sex: Sex = Sex.UNKNOWN


def wanted(wish: Statement) -> Wanted:
    """A wish as conditions on the loci it names; other loci are free.

    A named look must show; `het X` means exactly one copy; a claimed `N% het X` one copy, too.
    """
    loci = {said.locus: frozenset(wish.possible(said.locus)) for said in wish.said}
    for claim in wish.claims:
        held = Genotype(0, claim.allele)
        loci[claim.locus] = loci.get(claim.locus, frozenset()) | {held}
    return Wanted(loci, wish.sex)


@dataclass(frozen=True)
class Stock:
    """Animals of one sex as arrays: for each locus [animal, genotype], rows summing to 1.

    Genotypes follow `locus.genotypes(male=male)`; a locus left out is wild type in every animal.
    """

    size: int
    male: bool
    odds: Mapping[Locus, Floats] = field(default_factory=dict)

    def passed(self, locus: Locus, child: Sex, r: float) -> Floats:
        """[animal, allele]: what each hands on to a child of that sex."""
        import numpy as np

        table = gametes(locus, male=self.male, child=child, r=r)
        if locus in self.odds:
            return np.asarray(self.odds[locus] @ table)
        return np.repeat(table[:1], self.size, axis=0)


def stock(animals: Sequence[Genotypes], *, male: bool) -> Stock:
    """Stack animals' genotype odds. Cost: one pass over all odds."""
    import numpy as np

    loci = dict.fromkeys(locus for animal in animals for locus in animal)
    odds: dict[Locus, Floats] = {}
    for locus in loci:
        order = {g: i for i, g in enumerate(locus.genotypes(male=male))}
        table = np.zeros((len(animals), len(order)))
        for row, animal in enumerate(animals):
            for g, p in animal.get(locus, {Genotype(0, 0): 1}).items():
                table[row, order[g]] = p
        odds[locus] = table
    return Stock(len(animals), male, odds)


def wish_chances(
    wishes: Sequence[Wanted], males: Stock, females: Stock, r: float = float(RECOMBINATION)
) -> Floats:
    """[wish, male, female]: the chance that one fertile egg of the pair hatches as wished.

    Cost: males × females × wishes × loci a wish names (and those with losses), each a small matrix product.
    Memory: 8 bytes a pair and wish.
    """
    import numpy as np

    lossy = [locus for locus in dict.fromkeys([*males.odds, *females.odds]) if _lossy(locus)]
    found = np.empty((len(wishes), males.size, females.size))
    for row, wish in zip(found, wishes, strict=True):
        _fill(row, wish, lossy, males, females, r)
    return found


def harm_chances(
    catalogue: Catalogue, males: Stock, females: Stock, r: float = float(RECOMBINATION)
) -> dict[str, Floats]:
    """For each caution on offspring that any pair may meet, [male, female]: the chance of an egg concerned.

    For rules on two genes together it is the greatest chance over the pairs of genes; zero exactly where
    `cautions` finds nothing.
    """
    found = {}
    for rule in catalogue.rules:
        if rule.about != "offspring":
            continue
        pieces = _pieces(rule.id, catalogue)
        chances = [_chances(piece, males, females, r) for piece in pieces]
        worst = chances[0]
        for other in chances[1:]:
            import numpy as np

            worst = np.maximum(worst, other)
        if worst.any():
            found[rule.id] = worst
    return found


def _pieces(rule_id: str, catalogue: Catalogue) -> list[Wanted]:
    """A rule as conditions that are each a product over loci."""
    from dataclasses import replace

    rule = next(r for r in catalogue.rules if r.id == rule_id)
    pieces = []
    for locus in concerned(replace(rule, together=()), catalogue):
        meets = condition(replace(rule, together=()), catalogue)
        pieces.append(Wanted({locus: frozenset(g for g in locus.genotypes() if meets({locus: g}))}))
    for pair in rule.together:
        pieces.append(_together(pair, catalogue))
    return pieces


def _together(pair: Sequence[str], catalogue: Catalogue) -> Wanted:
    loci: dict[Locus, frozenset[Genotype]] = {}
    for gene in pair:
        name = catalogue.aliases.get(gene, gene)
        locus = catalogue.locus_of(name)
        held = frozenset(g for g in locus.genotypes() if locus.index(name) in g)
        loci[locus] = loci.get(locus, held) & held
    return Wanted(loci)


def _chances(piece: Wanted, males: Stock, females: Stock, r: float) -> Floats:
    import numpy as np

    row = np.empty((males.size, females.size))
    _fill(row, piece, (), males, females, r, losses=False)
    return row


def _fill(
    row: Floats,
    wish: Wanted,
    lossy: Iterable[Locus],
    males: Stock,
    females: Stock,
    r: float,
    losses: bool = True,
) -> None:
    """Write the chances of one wish into [male, female]."""
    loci = dict.fromkeys([*wish.loci, *lossy])
    sexes = BOTH if any(locus.sex_linked for locus in loci) else (Sex.UNKNOWN,)
    if wish.sex is not Sex.UNKNOWN and len(sexes) == 2:
        sexes = (wish.sex,)
    row[:] = 0.0
    share = 0.5 if len(sexes) == 2 or wish.sex is not Sex.UNKNOWN else 1.0
    for sex in sexes:
        factors = [_factor(locus, wish.loci.get(locus), sex, males, females, r, losses) for locus in loci]
        first, *others = _folded(factors, share, males.size, females.size)
        for at in range(0, males.size, ROWS):
            part = first[0][at : at + ROWS] @ first[1]
            for his, hers in others:
                part *= his[at : at + ROWS] @ hers
            row[at : at + ROWS] += part


def _folded(
    factors: Iterable[tuple[Floats, Floats]], share: float, males: int, females: int
) -> list[tuple[Floats, Floats]]:
    """Factors taken together while their columns stay few.

    The product over loci of sums over columns is one sum over pairs of columns, and those are made animal by
    animal instead of pair by pair.
    """
    import numpy as np

    folded = [(np.full((males, 1), share), np.ones((1, females)))]
    for his, hers in sorted(factors, key=lambda factor: factor[0].shape[1]):
        last_his, last_hers = folded[-1]
        if last_his.shape[1] * his.shape[1] <= COLUMNS:
            wide = (last_his[:, :, None] * his[:, None, :]).reshape(males, -1)
            folded[-1] = wide, (last_hers[:, None, :] * hers[None, :, :]).reshape(-1, females)
        else:
            folded.append((his, hers))
    return folded


def _factor(
    locus: Locus,
    genotypes: frozenset[Genotype] | None,
    sex: Sex,
    males: Stock,
    females: Stock,
    r: float,
    losses: bool,
) -> tuple[Floats, Floats]:
    """Two matrices whose product [male, female] is the chance that the locus is as wanted."""
    import numpy as np

    fits = np.zeros((locus.size, locus.size))
    for a in range(locus.size):
        for b in range(locus.size):
            g = locus.genotype(a, b)
            kept = not losses or locus.fate(g) is not Fate.LOST
            fits[b, a] = kept and (genotypes is None or g in genotypes)
    his, hers = males.passed(locus, sex, r), females.passed(locus, sex, r)
    used = fits.any(axis=1)
    return np.ascontiguousarray(his[:, used]), np.ascontiguousarray(fits[used] @ hers.T)


def _lossy(locus: Locus) -> bool:
    return any(locus.fate(g) is Fate.LOST for g in locus.genotypes())
