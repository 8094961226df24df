"""Posterior genotypes of a family too tangled for an exact answer, by sampling, with the error stated.

All that can be summed out in small tables is, once and for all; what is left, the core, is a fraction of the
piece (a tenth or so) and holds all that makes it hard. Chains move over the core (`chains`), and what they
say of it jointly is carried back to the rest exactly. The first half of each run is thrown away, and a run
goes on until its chains agree or its time is up.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from eggtooth.engine.pedigree.chains import Chains
from eggtooth.engine.pedigree.elimination import Factor, Scope, Tree, spread, tree_of
from eggtooth.engine.pedigree.pieces import UNSETTLED, Core, Piece, Tangle, answered, stated
from eggtooth.engine.pedigree.starts import starts

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    States = NDArray[np.int8]

SHELL_CELLS = 256
"""Largest table in which an unknown is summed out for good."""
CHAINS, SWEEPS, BATCH = 64, 192, 16
PLANS = 4
"""Cutsets between which chains change, so that none holds an unknown for long."""
LOOKS = (64, 96, 128, 160)
"""Sweeps after which the errors are looked at."""
LEAST_SWEEPS, MOST_MOVES = 48, 96_000
"""Fewest sweeps however large the core, and most moves of single unknowns a chain: a bound on the time."""
SHARE = 0.005
"""Sampling stops when no more than this share of the core's figures is not settled."""
GROUPS = 32
"""Groups of chains whose spread gives the error: enough to state it to an eighth, in less memory."""
NO_BUDGET = 1 << 62


def sample(
    tangle: Tangle,
    rng: np.random.Generator,
    chains: int = CHAINS,
    sweeps: int = SWEEPS,
    shell_cells: int | None = None,
) -> Piece:
    """Sample one tangled piece, `sweeps` at most.

    Half the chains start with as few carriers as can be, half with as many; see `stated` for the error of
    each figure. Raises `NoStart`. Cost: sweeps x core x chains x `BLOCK_CELLS` at most.
    """
    tree = tree_of(tangle.sizes, tangle.factors, NO_BUDGET, widest=shell_cells or SHELL_CELLS)
    if not tree.core:
        return answered(tangle.network, tangle.unknowns, tree)
    return run(tangle, tree, starts(tangle, rng, chains), rng, sweeps)


def run(
    tangle: Tangle,
    tree: Tree,
    start: Mapping[int, NDArray[Any]],
    rng: np.random.Generator,
    sweeps: int = SWEEPS,
    plans: int = PLANS,
) -> Piece:
    """Sample the core from given starts until the chains agree, `plans` cutsets in turn."""
    import numpy as np

    sizes = {v: tangle.sizes[v] for v in tree.core}
    moving = Chains(sizes, merged(tree.over_core(), tree.place), start, rng, plans)
    moving.find_start()
    sweeps = min(sweeps, max(LEAST_SWEEPS, MOST_MOVES // len(sizes)))
    while len(moving.draws) < sweeps:
        moving.batch(min(BATCH, sweeps - len(moving.draws)))
        if len(moving.draws) in LOOKS:
            each = moving.later_chances()
            if np.quantile(_errors(each.values()), 1 - SHARE) < UNSETTLED:
                break
    each, worlds = _by_group(moving.later_chances()), moving.later_draws()
    level = np.zeros(worlds.shape[1:])
    joint = seen_together(tree.core, sizes, worlds, np.ones_like(level))
    return answered(tangle.network, tangle.unknowns, tree, Core(worlds, each, level), each, joint)


def groups_of(chains: int) -> int:
    """Into how many groups of equal size chains are taken together, the halves of unlike starts apart."""
    return GROUPS if chains % GROUPS == 0 else chains


def shares(weight: Floats) -> Floats:
    """Each draw's share of its group of chains; `weight` [sweeps, chains]."""
    import numpy as np

    groups = groups_of(weight.shape[1])
    each = weight.reshape(len(weight), groups, -1)
    return np.asarray(each / each.sum(axis=(0, 2), keepdims=True)).reshape(weight.shape)


def _by_group(each: Mapping[int, Floats]) -> dict[int, Floats]:
    """Mean chances of each group of chains, [groups, S] by unknown."""
    return {v: x.reshape(groups_of(len(x)), -1, x.shape[1]).mean(axis=1) for v, x in each.items()}


def _errors(each: Collection[Floats]) -> Floats:
    """Largest stated error of each unknown; those of equal size are looked at together."""
    import numpy as np

    sizes = {odds.shape[1] for odds in each}
    alike = [np.stack([odds for odds in each if odds.shape[1] == size]) for size in sizes]
    return np.concatenate([stated(stack).max(axis=1) for stack in alike])


def seen_together(
    core: Scope, sizes: Mapping[int, int], worlds: States, weight: Floats
) -> Callable[[Scope], Floats]:
    """How often states were drawn together in each group of chains, shape [groups, *sizes], for unknowns of
    the core.

    `worlds` [V, sweeps, chains]; `weight` [sweeps, chains].
    """
    import numpy as np

    place = {v: k for k, v in enumerate(core)}
    chains = weight.shape[1]
    groups = groups_of(chains)
    group = np.arange(chains) // (chains // groups)
    share = shares(weight).ravel()
    known: dict[Scope, Floats] = {}

    def joint(scope: Scope) -> Floats:
        if scope not in known:
            code = np.zeros(weight.shape, dtype=np.int64)
            for v in scope:
                code *= sizes[v]
                code += worlds[place[v]]
            cells = int(np.prod([sizes[v] for v in scope]))
            counted = np.bincount((code * groups + group).ravel(), share, minlength=cells * groups)
            counts = np.asarray(counted, dtype=np.float64)
            known[scope] = np.ascontiguousarray(counts.reshape(cells, groups).T).reshape(
                (groups, *(sizes[v] for v in scope))
            )
        return known[scope]

    return joint


def merged(factors: Sequence[Factor], place: Mapping[int, int]) -> list[Factor]:
    """Tables multiplied into those that hold all their unknowns, so that there are few."""
    out: list[Factor] = []
    holding: dict[int, list[int]] = {}
    for factor in sorted(factors, key=lambda f: -len(f.scope)):
        inside = set(factor.scope)
        for k in holding.get(factor.scope[0], ()):
            if inside.issubset(out[k].scope):
                out[k] = Factor(out[k].scope, out[k].values * spread(factor, out[k].scope, place))
                break
        else:
            for v in factor.scope:
                holding.setdefault(v, []).append(len(out))
            scope = tuple(sorted(factor.scope, key=place.__getitem__))
            out.append(Factor(scope, factor.values.transpose([factor.scope.index(v) for v in scope])))
    return out
