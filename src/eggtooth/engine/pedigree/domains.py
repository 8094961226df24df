"""Which genotypes are possible at all: genotypes that no parent or offspring allows are struck out.

This is the genotype elimination of Lange & Goradia (1987, Am. J. Hum. Genet. 40:250-256, from memory), by
gametes: an offspring's genotype needs a gamete from each parent; a parent must be able to give one that each
offspring needs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.family import Family, Impossible, Pick

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

SWEEPS = 50


def possible(family: Family) -> Bools:
    """Genotypes that survive, shape [n, S]; a superset of those with positive posterior.

    Raises `Impossible` when an animal has none left. Cost: a few sweeps over the pedigree, one array
    operation a generation.
    """
    allowed = family.table > 0
    allowed[family.sire[family.sire >= 0]] &= family.segregation.can_sire
    allowed[family.dam[family.dam >= 0]] &= family.segregation.can_dam
    generations = _generations(family)
    for _ in range(SWEEPS):
        before = allowed.copy()
        for rows in generations:
            _down(family, allowed, rows)
        _check(allowed)
        if _same(before, allowed):
            break
        before = allowed.copy()
        for rows in reversed(generations):
            _up(family, allowed, rows)
        _check(allowed)
        if _same(before, allowed):
            break
    return allowed


def _same(before: Bools, after: Bools) -> bool:
    return bool((before == after).all())


def _check(allowed: Bools) -> None:
    import numpy as np

    empty = np.flatnonzero(~allowed.any(axis=1))
    if len(empty):
        raise Impossible(empty.tolist())


def _generations(family: Family) -> list[tuple[Ints, list[Pick]]]:
    """Offspring rows, and picks, by depth of descent."""
    import numpy as np

    depth = np.zeros(len(family.sire), dtype=np.int64)
    picks = {pick.row: pick for pick in family.picks}
    sires, dams = family.sire.tolist(), family.dam.tolist()
    levels = [0] * len(depth)
    for row, (sire, dam) in enumerate(zip(sires, dams, strict=True)):
        if sire >= 0:
            levels[row] = 1 + max(levels[sire], levels[dam])
        elif row in picks:
            levels[row] = 1 + max(levels[c] for c in picks[row].candidates.tolist())
    depth[:] = levels
    out = []
    for level in range(1, int(depth.max(initial=0)) + 1):
        rows = np.flatnonzero(depth == level)
        born = rows[family.sire[rows] >= 0]
        out.append((born, [picks[r] for r in rows.tolist() if r in picks]))
    return out


def _ways(family: Family, allowed: Bools, rows: Ints) -> Bools:
    """For each animal, which ways of joining two gametes its parents could have given, shape [rows, K]."""
    s = family.segregation
    sperm = allowed[family.sire[rows]] @ (s.from_sire > 0)
    eggs = allowed[family.dam[rows]] @ (s.from_dam > 0)
    return sperm[:, s.paternal] & eggs[:, s.maternal]


def _down(family: Family, allowed: Bools, generation: tuple[Ints, list[Pick]]) -> None:
    import numpy as np

    rows, picks = generation
    for pick in picks:
        allowed[pick.row] &= allowed[pick.candidates[pick.odds > 0]].any(axis=0)
    if not len(rows):
        return
    s = family.segregation
    starts = np.searchsorted(s.state, np.arange(len(s.genotypes)))
    allowed[rows] &= np.logical_or.reduceat(_ways(family, allowed, rows), starts, axis=1)


def _up(family: Family, allowed: Bools, generation: tuple[Ints, list[Pick]]) -> None:
    rows, picks = generation
    s = family.segregation
    if len(rows):
        ways = _ways(family, allowed, rows) & allowed[rows][:, s.state]
        _narrow(allowed, family.sire[rows], _gametes(ways, s.paternal, s.from_sire))
        _narrow(allowed, family.dam[rows], _gametes(ways, s.maternal, s.from_dam))
    for pick in picks:
        live = pick.candidates[(pick.odds > 0) & (allowed[pick.candidates] & allowed[pick.row]).any(axis=1)]
        if len(live) == 1:
            allowed[live[0]] &= allowed[pick.row]


def _gametes(ways: Bools, gamete: Ints, pass_on: NDArray[np.float64]) -> Bools:
    """Parent genotypes able to give one of the gametes still possible, shape [rows, S]."""
    import numpy as np

    order = np.argsort(gamete, kind="stable")
    used, starts = np.unique(gamete[order], return_index=True)
    given = np.logical_or.reduceat(ways[:, order], starts, axis=1)
    return given @ (pass_on[:, used] > 0).T


def _narrow(allowed: Bools, parent: Ints, fits: Bools) -> None:
    """Keep the genotypes of each parent that fit all its offspring."""
    import numpy as np

    order = np.argsort(parent, kind="stable")
    who, starts = np.unique(parent[order], return_index=True)
    allowed[who] &= np.logical_and.reduceat(fits[order], starts, axis=0)
