"""What would settle whether an animal carries a gene: which mate, how many eggs, how many normal babies.

An egg of a test cross shows the gene or not; what it is worth is how much it is expected to lower the
uncertainty (entropy) about the animal. Chances of carriers and mates are taken as independent: a test cross
is to a mate of another family, or its kinship is small. The young of one uncertain mate are not independent
of each other: they are summed over what the mate may be.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Sex

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.pedigree.carriers import Carriers
    from eggtooth.engine.pedigree.evidence import LocusModel

    Floats = NDArray[np.float64]

SETTLED = 0.05
MOST_EGGS = 200


@dataclass(frozen=True)
class TestCross:
    """One possible mate: chance that he or she shows the question up, and how many eggs it takes.

    `settles`: expected share of the uncertainty (in bits) that `eggs` eggs take away; `shows`: chance that at
    least one of them shows the gene; `normals`: normal-looking babies after which the animal carries it with
    less than 5 % (None: never with this mate).
    """

    mate: str
    eggs: int
    settles: float
    shows: float
    normals: int | None


def test_crosses(
    found: Carriers, tag: str, locus: str, mates: Iterable[str], eggs: int = 6
) -> list[TestCross]:
    """Rank mates by how much a clutch of `eggs` would settle whether `tag` carries anything at `locus`.

    Mates of the same recorded sex are left out. Cost: mates x genotypes cubed x eggs. `KeyError` for a locus
    nobody carries anything at.
    """
    model = found.loci[locus].model
    male = found.evidence.colony.animals[tag].sex is Sex.MALE
    mine = odds_array(model, found, tag, male)
    out = []
    for mate in mates:
        sex = found.evidence.colony.animals[mate].sex
        if mate == tag or (sex is not Sex.UNKNOWN and (sex is Sex.MALE) == male):
            continue
        shows = show_chance(model, mine_is_sire=male)
        its = odds_array(model, found, mate, not male)
        out.append(test_cross(mate, mine, its, shows, carriers_of(model), eggs))
    return sorted(out, key=lambda c: (-c.settles, c.mate))


def test_cross(mate: str, mine: Floats, its: Floats, shows: Floats, carries: Floats, eggs: int) -> TestCross:
    """One mate. `mine`, `its` [S]: odds; `shows` [S, S]: chance that an egg shows the gene (mine, mate);
    `carries` [S]: 1 for genotypes that carry something."""
    import numpy as np
    from scipy.special import comb

    k = np.arange(eggs + 1)
    each = comb(eggs, k)[:, None, None] * shows ** k[:, None, None] * (1 - shows) ** (eggs - k)[:, None, None]
    by_count = np.einsum("kms,s->km", each, its)
    joint = np.stack([by_count @ (mine * carries), by_count @ (mine * (1 - carries))], axis=1)
    before = _bits(joint.sum(axis=0, keepdims=True))
    after = _bits(joint)
    settles = (before - after) / before if before > 0 else 0.0
    return TestCross(
        mate, eggs, float(settles), float(1 - joint[0].sum()), normals_needed(mine, its, shows, carries)
    )


def normals_needed(
    mine: Floats, its: Floats, shows: Floats, carries: Floats, below: float = SETTLED
) -> int | None:
    """Normal-looking babies in a row of one mate until the chance of carrying is below `below`; None beyond
    200."""
    import numpy as np

    for n in range(MOST_EGGS + 1):
        fits = np.einsum("ms,s->m", (1 - shows) ** n, its) * mine
        total = float(fits.sum())
        if total == 0:
            return None
        if float(fits @ carries) / total < below:
            return n
    return None


def show_chance(model: LocusModel, mine_is_sire: bool) -> Floats:
    """P(an egg looks other than normal at the locus | mine, mate), shape [S, S]."""
    import numpy as np

    visible = np.array([model.locus.look(w) != () for w in model.written], dtype=float)
    chance = model.segregation.offspring @ visible
    return np.asarray(chance if mine_is_sire else chance.T)


def carriers_of(model: LocusModel) -> Floats:
    """1 for genotypes that hold any variant, shape [S]."""
    import numpy as np

    return np.array([float(w != (0, 0)) for w in model.written])


def odds_array(model: LocusModel, found: Carriers, tag: str, male: bool) -> Floats:
    """Posterior odds of one animal in the model's order of genotypes, shape [S]."""
    import numpy as np

    out = np.zeros(len(model.written))
    for written, p in found.odds(tag, model.locus.name).items():
        out[model.states[male][written]] = p
    return out


def _bits(joint: Floats) -> float:
    """Expected entropy of carrying, given the outcome; `joint` [outcomes, 2]."""
    import numpy as np

    total = joint.sum(axis=1, keepdims=True)
    p = np.divide(joint, total, out=np.zeros_like(joint), where=total > 0)
    logs = np.log2(p, out=np.zeros_like(p), where=p > 0)
    return float(-(joint * logs).sum())


def open_questions(found: Carriers, tags: Sequence[str]) -> list[tuple[str, str, float]]:
    """(tag, locus, chance of carrying) of animals that may or may not carry something, the least certain
    first."""
    out = []
    for tag in tags:
        for locus, odds in found.animal(tag):
            p = 1 - odds.get(locus.genotypes()[0], 0.0)
            if SETTLED < p < 1 - SETTLED:
                out.append((tag, locus.name, p))
    return sorted(out, key=lambda question: (abs(question[2] - 0.5), question[0], question[1]))
