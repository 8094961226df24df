"""What would settle whether an animal carries a gene: which mate, how many eggs, how many normal babies.

An egg of a test cross shows the gene or not; what it is worth is how much it is expected to lower the
uncertainty (entropy) about the animal. The animal and its mate are weighed together, so that a shared family
counts; the young of one uncertain mate are not independent of each other: they are summed over what the mate
may be.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Sex
from eggtooth.engine.pedigree.together import together
from eggtooth.engine.pedigree.uncertainty import bits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.pedigree.carriers import Carriers
    from eggtooth.engine.pedigree.locus_model import LocusModel

    Floats = NDArray[np.float64]

SETTLED = 0.05
MOST_EGGS = 200


@dataclass(frozen=True)
class TestCross:
    """One possible mate: chance that he or she shows the question up, and how many eggs it takes.

    `settles`: expected share of the uncertainty (in bits) that `eggs` eggs take away; `each`: chance that one
    egg shows the gene if the animal carries it; `shows`: chance that at least one of `eggs` shows it;
    `after_some`, `after_none`: chance of carrying then (None: that outcome cannot be); `falling`: chance of
    carrying after 0, 1, ... `eggs` normal-looking babies in a row, up to where they can be; `normals`: how
    many of those until it is below 5 % (None: never with this mate); `exact`: see `Together`.
    """

    mate: str
    eggs: int
    settles: float
    each: float
    shows: float
    after_some: float | None
    after_none: float | None
    falling: tuple[float, ...]
    normals: int | None
    exact: bool = True


def test_crosses(
    found: Carriers, tag: str, locus: str, mates: Iterable[str], eggs: int = 6
) -> list[TestCross]:
    """Rank mates by how much a clutch of `eggs` would settle whether `tag` carries anything at `locus`.

    Mates of the same recorded sex are left out. Cost: see `together`, then genotypes squared x eggs for each
    mate whose odds are not another's too. `KeyError` for a locus nobody carries anything at.
    """
    model = found.loci[locus].model
    sex = found.evidence.colony.animals[tag].sex
    shows, carries = show_chance(model, mine_is_sire=sex is Sex.MALE), carriers_of(model)
    pairs = together(found, tag, locus, _others(found, tag, sex, mates))
    once: dict[bytes, TestCross] = {}
    out = []
    for mate, joint in pairs.odds.items():
        key = joint.tobytes()
        if key not in once:
            once[key] = replace(test_cross(mate, joint, shows, carries, eggs), exact=pairs.exact)
        out.append(replace(once[key], mate=mate))
    return sorted(out, key=lambda c: (-round(c.settles, 12), c.mate))


def _others(found: Carriers, tag: str, sex: Sex, mates: Iterable[str]) -> list[str]:
    sexes = {m: found.evidence.colony.animals[m].sex for m in mates if m != tag}
    return [m for m, its in sexes.items() if Sex.UNKNOWN in (its, sex) or its is not sex]


def test_cross(mate: str, joint: Floats, shows: Floats, carries: Floats, eggs: int) -> TestCross:
    """One mate. `joint` [S, S]: odds (mine, mate); `shows` [S, S]: chance that an egg shows the gene;
    `carries` [S]: 1 for genotypes that carry something."""
    import numpy as np
    from scipy.special import comb

    k = np.arange(eggs + 1)
    each = comb(eggs, k)[:, None, None] * shows ** k[:, None, None] * (1 - shows) ** (eggs - k)[:, None, None]
    by_count = np.einsum("kms,ms->km", each, joint)
    told = np.stack([by_count @ carries, by_count @ (1 - carries)], axis=1)
    before = bits(told.sum(axis=0, keepdims=True))
    falling, carrying = falls(joint, shows, carries), float(joint.sum(axis=1) @ carries)
    return TestCross(
        mate,
        eggs,
        (before - bits(told)) / before if before > 0 else 0.0,
        float(carries @ (shows * joint).sum(axis=1)) / carrying if carrying else 0.0,
        float(told[1:].sum()),
        _share(told[1:].sum(axis=0)),
        _share(told[0]),
        tuple(falling[: eggs + 1]),
        next((n for n, p in enumerate(falling) if p < SETTLED), None),
    )


def falls(joint: Floats, shows: Floats, carries: Floats, most: int = MOST_EGGS) -> list[float]:
    """Chance of carrying after 0, 1, ... `most` normal-looking babies of one mate, cut off where so many
    cannot be."""
    import numpy as np

    n = np.arange(most + 1)[:, None, None]
    fits = ((1 - shows) ** n * joint).sum(axis=2)
    total = fits.sum(axis=1)
    known = total > 0
    return [float(p) for p in (fits @ carries)[known] / total[known]]


def _share(told: Floats) -> float | None:
    whole = float(told.sum())
    return float(told[0]) / whole if whole > 0 else None


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
