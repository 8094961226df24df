"""A sampled piece with more or other evidence: the worlds drawn before, weighed by how well they fit it.

Only the core is weighed; the rest is summed out exactly again. What was known better than by counting draws
is kept, and only the shift is read from the weights (control variate). Where too few worlds fit, the chains
go on from those that do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, cast

from eggtooth.engine.pedigree.elimination import Factor, Scope, Tree, onto
from eggtooth.engine.pedigree.pieces import Core, Piece, Tangle, reread, stated
from eggtooth.engine.pedigree.regrowing import Grown, spread_out
from eggtooth.engine.pedigree.sampling import CHAINS, groups_of, run, seen_together, shares

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    States = NDArray[np.int8]

LEAST_SHARE = 0.1
"""Worth of the weighed worlds, as a share of their number, below which chains go on instead."""
FURTHER, FURTHER_PLANS = 48, 2
"""Sweeps and cutsets of chains that go on from worlds that fit: they need not find their way there."""
STILL = 5e-4
STILL_SHARE = 0.25
"""A shift that is left out: this much, or this share of the stated error, which it cannot be told from."""


def reweighed(
    tangle: Tangle, before: Piece, grown: Grown, settled: Mapping[int, int], rng: np.random.Generator
) -> Piece:
    """Answer a changed piece from old draws of its core; `settled`: states of core unknowns that are
    certain now.

    Raises `NoStart`.

    Cost: the tables that changed x draws, and the exact sums outside the core that they reach.
    """
    import numpy as np

    tree = grown.tree
    then, core = cast("Tree", before.tree).core, _without(before, tree.core, settled)
    with np.errstate(invalid="ignore"):
        change = _logs(tree.core, core.worlds, grown.come) - _logs(
            then, cast("Core", before.core).worlds, grown.gone
        )
        log_weight = np.nan_to_num(core.log_weight + change, nan=-np.inf, neginf=-np.inf)
    top = float(log_weight.max())
    weight = np.exp(log_weight - top) if np.isfinite(top) else np.zeros_like(log_weight)
    total = weight.reshape(len(weight), groups_of(weight.shape[1]), -1).sum(axis=(0, 2))
    poor = weight.sum() ** 2 <= LEAST_SHARE * weight.size * (weight**2).sum()
    if poor or not total.all() or _wider(grown):
        return run(tangle, tree, picked(tree, core.worlds, weight, rng), rng, FURTHER, FURTHER_PLANS)
    moved = _moved(tangle, before, core, tree.core, weight)
    joint = seen_together(tree.core, tangle.sizes, core.worlds, weight)
    beliefs, news = spread_out(grown, before.beliefs, joint, moved, STILL)
    after = core._replace(log_weight=log_weight - top)
    return reread(tangle.network, tangle.unknowns, before, tree, beliefs, news, after, moved, joint)


def _without(before: Piece, left: Scope, settled: Mapping[int, int]) -> Core:
    """What was drawn, of the core that is left; worlds in which a certain unknown was otherwise are out."""
    import numpy as np

    core, drawn = cast("Core", before.core), cast("Tree", before.tree).core
    if drawn == left and not settled:
        return core
    place = {v: k for k, v in enumerate(drawn)}
    log_weight = core.log_weight.copy()
    for v, state in settled.items():
        log_weight[core.worlds[place[v]] != state] = -np.inf
    return Core(core.worlds[[place[v] for v in left]], {v: core.chances[v] for v in left}, log_weight)


def _logs(core: Scope, worlds: States, factors: Sequence[Factor]) -> Floats:
    """Log of some tables at every world, shape [sweeps, chains]."""
    import numpy as np

    place = {v: k for k, v in enumerate(core)}
    out = np.zeros(worlds.shape[1:])
    for factor in factors:
        with np.errstate(divide="ignore"):
            out += np.log(factor.values)[tuple(worlds[place[v]] for v in factor.scope)]
    return out


def _wider(grown: Grown) -> bool:
    """Whether worlds may be possible now that were not, and so were never drawn."""
    for old in grown.gone:
        never = old.values == 0
        if not never.any():
            continue
        holding = [f for f in grown.come if set(old.scope) <= set(f.scope)]
        if not any((onto(f.values, f.scope, old.scope)[never] == 0).all() for f in holding):
            return True
    return False


def _moved(tangle: Tangle, before: Piece, core: Core, left: Scope, weight: Floats) -> dict[int, Floats]:
    """New chances of the core unknowns that the weights move by more than may be left out."""
    import numpy as np

    share = (shares(weight) / groups_of(weight.shape[1]) - 1 / weight.size).ravel().astype(np.float32)
    worlds = core.worlds.reshape(len(left), -1)
    sizes = np.array([tangle.sizes[v] for v in left])
    hits = [(worlds == state) @ share for state in range(1, int(sizes.max()))]
    shift = np.stack([-np.sum(hits, axis=0), *hits], axis=1)  # all together they move by 0
    out = {}
    for size in set(sizes.tolist()):
        at = np.flatnonzero(sizes == size)
        names = [left[k] for k in at.tolist()]
        now = np.stack([core.chances[v] for v in names]).mean(axis=1) + shift[at, :size]
        was = np.stack([before.each[v] for v in names])
        far = abs(now - was.mean(axis=1)).max(axis=1)
        there = far > np.maximum(STILL, STILL_SHARE * stated(was).max(axis=1))
        for i in np.flatnonzero(there).tolist():
            out[names[i]] = core.chances[names[i]] + _shift(core.worlds[at[i]], size, weight)
    return out


def _shift(drawn: States, size: int, weight: Floats) -> Floats:
    """What the weights do to the draws [sweeps, chains] of one unknown, [groups, size]."""
    import numpy as np

    groups = groups_of(weight.shape[1])
    moved = shares(weight) - groups / weight.size
    hits = np.stack([(moved * (drawn == state)).sum(axis=0) for state in range(size)], axis=1)
    return np.asarray(hits.reshape(groups, -1, size).sum(axis=1))


def picked(tree: Tree, worlds: States, weight: Floats, rng: np.random.Generator) -> dict[int, States]:
    """Worlds that fit, drawn by weight (all alike when none does), for chains to go on from."""
    flat = weight.ravel()
    total = flat.sum()
    which = rng.choice(flat.size, size=CHAINS, p=flat / total if total > 0 else None)
    return {v: worlds[k].reshape(-1)[which] for k, v in enumerate(tree.core)}
