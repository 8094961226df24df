"""What each pair does for each wish: the chance of one egg, and the effective number of her season."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.genetics.many import stock, wanted, wish_chances
from eggtooth.engine.genetics.statement import Genotypes
from eggtooth.engine.pedigree.together import together
from eggtooth.engine.pedigree.worth import (
    carriers_of,
    open_questions,
    show_chance,
    test_cross,
)
from eggtooth.engine.planning.diminishing import capped, effective
from eggtooth.engine.planning.prospects import Prospect
from eggtooth.engine.planning.stakes import Goal
from eggtooth.engine.planning.wishes import Aim, WishRead

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.pedigree.carriers import Carriers

    Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Hopes:
    """`egg` [goal, male, female]: chance that one fertile egg hatches as wished (for `prove`: the share of
    the doubt that her clutch is expected to settle); `effect` the same as effective numbers of a season.
    """

    goals: tuple[Goal, ...]
    reads: tuple[WishRead, ...]
    egg: Floats
    effect: Floats


@dataclass(frozen=True, eq=False)
class Family:
    """Everything known of the animals' genes and descent that a wish may ask about."""

    animals: Mapping[str, Animal]
    genotypes: Mapping[str, Genotypes]
    found: Carriers


def hopes(
    goals: Sequence[Goal],
    reads: Sequence[WishRead],
    males: Sequence[Prospect],
    females: Sequence[Prospect],
    family: Family,
) -> Hopes:
    """Chances and effective numbers of all pairs. Cost: wishes x males x females, a few operations each;
    memory 16 bytes a wish and pair."""
    import numpy as np

    egg = np.zeros((len(goals), len(males), len(females)))
    if not egg.size:
        return Hopes(tuple(goals), tuple(reads), egg, egg)
    looks = [w for w, said in enumerate(reads) if said.aim is Aim.LOOK]
    his = stock([family.genotypes[m.tag] for m in males], male=True)
    hers = stock([family.genotypes[f.tag] for f in females], male=False)
    egg[looks] = wish_chances([wanted(reads[w].look) for w in looks], his, hers)  # type: ignore[arg-type]
    for w, said in enumerate(reads):
        if said.aim is Aim.PROVE:
            egg[w] = _settled(said, males, females, family.found)
        elif said.aim is Aim.LINE:
            egg[w] = _of_line(said.tag, males, females, family.animals)
    return Hopes(tuple(goals), tuple(reads), egg, _effect(goals, reads, egg, males, females))


def _effect(
    goals: Sequence[Goal],
    reads: Sequence[WishRead],
    egg: Floats,
    males: Sequence[Prospect],
    females: Sequence[Prospect],
) -> Floats:
    import numpy as np

    found = np.zeros_like(egg)
    part = np.outer([m.p for m in males], [f.p for f in females])
    for w, (goal, said) in enumerate(zip(goals, reads, strict=True)):
        if said.aim is Aim.PROVE:
            found[w] = effective(part * egg[w], 1)
            continue
        for hatchlings, columns in _by_clutch(females).items():
            brought = capped(hatchlings, egg[w][:, columns], goal.count)
            found[w][:, columns] = effective(part[:, columns] * brought, goal.count)
    return found


def _by_clutch(females: Sequence[Prospect]) -> dict[tuple[float, ...], list[int]]:
    found: dict[tuple[float, ...], list[int]] = {}
    for j, female in enumerate(females):
        found.setdefault(female.hatchlings, []).append(j)
    return found


def _of_line(
    tag: str, males: Sequence[Prospect], females: Sequence[Prospect], animals: Mapping[str, Animal]
) -> Floats:
    """The share of an animal's line in each pair's young, its own young counting one."""
    import numpy as np

    share: dict[str, float] = {}
    his = [line_share(m.tag, tag, animals, share) for m in males]
    hers = [line_share(f.tag, tag, animals, share) for f in females]
    return np.asarray(np.minimum(1.0, np.add.outer(his, hers)), dtype=float)


def line_share(tag: str, founder: str, animals: Mapping[str, Animal], known: dict[str, float]) -> float:
    """1 for the animal itself, 1/2 for its young, 1/4 for theirs: the share of its genes, summed over all
    ways of descent, candidate sires counting equally."""
    if tag not in known:
        known[tag] = 1.0 if tag == founder else 0.0
        animal = animals.get(tag)
        if tag != founder and animal:
            above = sum(line_share(s, founder, animals, known) for s in animal.sires)
            sires = above / len(animal.sires) if animal.sires else 0.0
            dam = line_share(animal.dam, founder, animals, known) if animal.dam else 0.0
            known[tag] = (sires + dam) / 2
    return known[tag]


def _settled(
    said: WishRead, males: Sequence[Prospect], females: Sequence[Prospect], found: Carriers
) -> Floats:
    """What a clutch of each pair with the animal is expected to settle, over the loci in question alike."""
    import numpy as np

    egg = np.zeros((len(males), len(females)))
    loci = [locus for _, locus, _ in open_questions(found, [said.tag]) if said.locus in ("", locus)]
    is_male = found.evidence.colony.animals[said.tag].sex is Sex.MALE
    mine = males if is_male else females
    row = next((k for k, one in enumerate(mine) if one.tag == said.tag), None)
    if row is None:
        return egg
    mates = females if is_male else males
    for locus in loci:
        model = found.loci[locus].model
        shows, carries = show_chance(model, mine_is_sire=is_male), carriers_of(model)
        joint = together(found, said.tag, locus, [m.tag for m in mates]).odds
        for k, mate in enumerate(mates):
            eggs = max(1, round((mate if is_male else mine[row]).mean))
            settles = test_cross(mate.tag, joint[mate.tag], shows, carries, eggs).settles
            egg[(row, k) if is_male else (k, row)] += settles / len(loci)
    return egg
