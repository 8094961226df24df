"""Which genotypes are possible at all: genotypes that no parent or offspring allows are struck out.

This is the genotype elimination of Lange & Goradia (1987, Am. J. Hum. Genet. 40:250-256, from memory), by
gametes: an offspring's genotype needs a gamete from each parent; a parent must be able to give one that each
offspring needs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.family import Family, Impossible, Pick

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

SWEEPS = 50


@dataclass(frozen=True)
class Sooner:
    """What was possible when less was known: genotypes `allowed` [n, S] of the rows `known` [n]."""

    allowed: Bools
    known: Bools


def possible(family: Family, sooner: Sooner | None = None) -> Bools:
    """Genotypes that survive, shape [n, S]; a superset of those with positive posterior.

    With `sooner` (of a family without picks, whose known rows have the parents they had and nothing more
    possible by themselves), only what the difference reaches is gone through. Raises `Impossible` when an
    animal has none left. Cost: a few sweeps over the pedigree, one array operation a generation.
    """
    allowed = family.table > 0
    allowed[family.sire[family.sire >= 0]] &= family.segregation.can_sire
    allowed[family.dam[family.dam >= 0]] &= family.segregation.can_dam
    if sooner is not None:
        _go_on(family, allowed, sooner)
    else:
        _sweep(family, allowed)
    return allowed


def _sweep(family: Family, allowed: Bools) -> None:
    """Down and up through everybody until nothing is struck out."""
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


def _go_on(family: Family, allowed: Bools, sooner: Sooner) -> None:
    """Strike out what was struck out before, and what that and the new rows lead to."""
    import numpy as np

    allowed[sooner.known] &= sooner.allowed[sooner.known]
    _check(allowed)
    moved = ~sooner.known | (allowed != sooner.allowed).any(axis=1)
    born = family.sire >= 0
    for _ in range(SWEEPS):
        rows = np.flatnonzero(born & (moved | moved[family.sire] | moved[family.dam]))
        if not len(rows):
            break
        before = allowed.copy()
        _down(family, allowed, (rows, []))
        _check(allowed)
        _up(family, allowed, (rows, []))
        _check(allowed)
        moved = (before != allowed).any(axis=1)


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

    picks = {pick.row: pick for pick in family.picks}
    depth = _depth(family)
    order = np.argsort(depth, kind="stable")
    levels = np.split(order, np.flatnonzero(np.diff(depth[order])) + 1)[1:]
    return [
        (rows[family.sire[rows] >= 0], [picks[r] for r in rows.tolist() if r in picks] if picks else [])
        for rows in levels
    ]


def _depth(family: Family) -> Ints:
    """Generations above each row, shape [n]."""
    import numpy as np

    depth = np.zeros(len(family.sire), dtype=np.int64)
    born = np.flatnonzero(family.sire >= 0)
    sire, dam = family.sire[born], family.dam[born]
    while True:
        before = depth.copy()
        depth[born] = 1 + np.maximum(depth[sire], depth[dam])
        for pick in family.picks:
            depth[pick.row] = 1 + depth[pick.candidates].max()
        if (depth == before).all():
            return depth


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
