"""A sampled piece with more or other evidence: the worlds drawn before, weighed by how well they fit it.

Only the core is weighed; the rest is summed out exactly again. What was known better than by counting draws
is kept, and only the shift is read from the weights (control variate). Where too few worlds fit, the chains
go on from those that do.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.elimination import Factor, onto
from eggtooth.engine.pedigree.peeling import Core, Sampled, Tangle
from eggtooth.engine.pedigree.sampling import CHAINS, read, run, seen_together
from eggtooth.engine.pedigree.shell import Shell, collapse

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    States = NDArray[np.int8]

LEAST_SHARE = 0.1
"""Worth of the weighed worlds, as a share of their number, below which chains go on instead."""


def reweighed(tangle: Tangle, core: Core, rng: np.random.Generator) -> Sampled | None:
    """Answer a changed piece from old draws of its core; None when none fits or the core fell apart.

    Cost: the tables that changed x draws, and the exact sums outside the core.
    """

    kept = [v for v in core.unknowns if v in tangle.sizes]
    if not kept or any(tangle.network.open[v] for v in core.unknowns if v not in tangle.sizes):
        return None
    shell = collapse(tangle.sizes, tangle.factors, core=kept)
    if shell is None:
        return None
    worlds = _restated(tangle, core)
    weight = _weights(core, worlds, shell.factors)
    total = weight.sum(axis=0)
    if not total.any():
        return None
    place = {v: k for k, v in enumerate(core.unknowns)}
    mine = worlds[[place[v] for v in shell.core]]
    poor = weight.sum() ** 2 < LEAST_SHARE * weight.size * (weight**2).sum()
    if poor or not total.all() or _wider(tangle, core, shell.factors):
        return run(tangle, shell, _picked(shell, mine, weight, rng), rng)
    chances = _shifted(tangle, core, shell, mine, weight)
    found = read(tangle, shell, chances, seen_together(shell.core, tangle.sizes, mine, weight))
    return found._replace(core=core)


def _restated(tangle: Tangle, core: Core) -> States:
    """The draws numbered among the states possible now, shape [V, sweeps, chains]; -1: no longer possible."""
    import numpy as np

    out = np.empty_like(core.worlds)
    for k, v in enumerate(core.unknowns):
        allowed = tangle.network.allowed[v]
        now = np.where(allowed, allowed.cumsum() - 1, -1)[core.allowed[k]].astype(np.int8)
        out[k] = now[core.worlds[k]]
    return out


def _weights(core: Core, worlds: States, factors: tuple[Factor, ...]) -> Floats:
    """Chance of each world now over its chance when it was drawn, up to a constant, shape [sweeps,
    chains]."""
    import numpy as np

    place = {v: k for k, v in enumerate(core.unknowns)}
    then = {f.scope: f.values for f in core.factors}
    log_weight = np.zeros(worlds.shape[1:])
    for factor in factors:
        before = then.get(factor.scope)
        if before is not None and _alike(before, factor.values):
            del then[factor.scope]
            continue
        states = tuple(np.maximum(worlds[place[v]], 0) for v in factor.scope)
        with np.errstate(divide="ignore"):
            log_weight += np.log(factor.values)[states]
    for scope, values in then.items():
        with np.errstate(divide="ignore"):
            log_weight -= np.log(values)[tuple(core.worlds[place[v]] for v in scope)]
    log_weight[(worlds < 0).any(axis=0)] = -np.inf
    top = log_weight.max()
    return np.exp(log_weight - top) if np.isfinite(top) else np.zeros_like(log_weight)


def _alike(one: Floats, other: Floats) -> bool:
    import numpy as np

    return one.shape == other.shape and bool(np.allclose(one, other, 1e-12, 0))


def _wider(tangle: Tangle, core: Core, factors: tuple[Factor, ...]) -> bool:
    """Whether worlds may be possible now that were not, and so were never drawn."""
    import numpy as np

    place = {v: k for k, v in enumerate(core.unknowns)}
    if any((tangle.network.allowed[v] & ~core.allowed[k]).any() for v, k in place.items()):
        return True
    still = {v: tangle.network.allowed[v][core.allowed[k]] for v, k in place.items()}
    for old in core.factors:
        before = old.values[np.ix_(*(np.flatnonzero(still[v]) for v in old.scope))]
        kept = [v for v in old.scope if v in tangle.sizes]
        before = before.reshape([tangle.sizes[v] for v in kept])
        holding = next((f for f in factors if set(kept) <= set(f.scope)), None)
        if (before > 0).all():
            continue
        if holding is None or (onto(holding.values, holding.scope, tuple(kept))[before == 0] > 0).any():
            return True
    return False


def _shifted(tangle: Tangle, core: Core, shell: Shell, worlds: States, weight: Floats) -> dict[int, Floats]:
    """The chances known before, moved by what the weights do to the draws, [chains, size] by unknown."""
    import numpy as np

    share = weight / weight.sum(axis=0)
    moved = share - 1 / len(share)
    place = {v: k for k, v in enumerate(core.unknowns)}
    out = {}
    for v, drawn in zip(shell.core, worlds, strict=True):
        old = core.allowed[place[v]]
        same = bool(tangle.network.allowed[v][old].all())
        shift = moved if same else share  # a genotype that can no longer be: count draws
        known = core.chances[v] if same else np.zeros((share.shape[1], tangle.sizes[v]))
        hits = [(shift * (drawn == state)).sum(axis=0) for state in range(tangle.sizes[v])]
        out[v] = known + np.stack(hits, axis=1)
    return out


def _picked(shell: Shell, worlds: States, weight: Floats, rng: np.random.Generator) -> dict[int, States]:
    """Worlds that fit, drawn by weight, for chains to go on from."""
    flat = weight.ravel()
    which = rng.choice(flat.size, size=CHAINS, p=flat / flat.sum())
    return {v: worlds[k].reshape(-1)[which] for k, v in enumerate(shell.core)}
