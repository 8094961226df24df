"""Posterior genotypes of a family too tangled for an exact answer, by sampling, with the error stated.

What can be summed out exactly is (`shell`); chains move over the core that is left (`chains`), and what
they say of it jointly is carried back. The first half of each run is thrown away, and a run goes on until
its chains agree or its time is up.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, cast

from eggtooth.engine.pedigree.chains import Chains
from eggtooth.engine.pedigree.elimination import onto
from eggtooth.engine.pedigree.peeling import Core, Sampled, Tangle, stated
from eggtooth.engine.pedigree.shell import SHELL_CELLS, Shell, collapse
from eggtooth.engine.pedigree.starts import starts

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]

CHAINS, SWEEPS, BATCH = 32, 512, 16
LOOKS = (32, 64, 128, 192, 256, 384, 512)
"""Sweeps after which the error is looked at, and the largest error at which sampling stops."""
ENOUGH = 0.03


def sample(
    tangle: Tangle,
    rng: np.random.Generator,
    chains: int = CHAINS,
    sweeps: int = SWEEPS,
    shell_cells: int | None = None,
) -> Sampled:
    """Sample one tangled piece, `sweeps` at most.

    Half the chains start with as few carriers as can be, half with as many; see `stated` for the error of
    each figure. Raises `NoStart`. Cost: sweeps x core x chains x `BLOCK_CELLS` at most.
    """
    shell = cast("Shell", collapse(tangle.sizes, tangle.factors, shell_cells or SHELL_CELLS))
    if not shell.core:
        return read(tangle, shell, {}, _nothing)
    return run(tangle, shell, starts(tangle, rng, chains), rng, sweeps)


def run(
    tangle: Tangle,
    shell: Shell,
    start: Mapping[int, NDArray[Any]],
    rng: np.random.Generator,
    sweeps: int = SWEEPS,
) -> Sampled:
    """Sample from given starts until the chains agree."""
    import numpy as np

    moving = Chains({v: tangle.sizes[v] for v in shell.core}, shell.factors, start, rng)
    moving.find_start()
    while len(moving.draws) < sweeps:
        moving.batch(min(BATCH, sweeps - len(moving.draws)))
        if len(moving.draws) in LOOKS:
            each, _ = moving.later_half()
            if max(float(stated(e).max()) for e in each.values()) < ENOUGH:
                break
    each, worlds = moving.later_half()
    weight = np.ones(worlds.shape[1:])
    found = read(tangle, shell, each, seen_together(shell.core, tangle.sizes, worlds, weight))
    allowed = tuple(_allowed(tangle, v) for v in shell.core)
    return found._replace(core=Core(shell.core, allowed, worlds, each, shell.factors))


def _allowed(tangle: Tangle, unknown: int) -> NDArray[np.bool_]:
    """States of an unknown that are possible, of all it could have."""
    import numpy as np

    allowed = tangle.network.allowed
    return allowed[unknown] if unknown < len(allowed) else np.ones(tangle.sizes[unknown], dtype=bool)


def _nothing(scope: tuple[int, ...]) -> Floats:
    raise LookupError(f"nothing was drawn of {scope}")


def seen_together(
    core: tuple[int, ...], sizes: Mapping[int, int], worlds: NDArray[np.int8], weight: Floats
) -> Callable[[tuple[int, ...]], Floats]:
    """How often states were drawn together in each chain, shape [chains, *sizes], for unknowns of the core.

    `worlds` [V, sweeps, chains] (-1: a state no longer possible, of weight 0); `weight` [sweeps, chains].
    """
    import numpy as np

    place = {v: k for k, v in enumerate(core)}
    chains = weight.shape[1]
    share = (weight / weight.sum(axis=0)).ravel()
    known: dict[tuple[int, ...], Floats] = {}

    def joint(scope: tuple[int, ...]) -> Floats:
        if scope not in known:
            code = np.zeros(weight.shape, dtype=np.int64)
            for v in scope:
                code = code * sizes[v] + np.maximum(worlds[place[v]], 0)
            cells = int(np.prod([sizes[v] for v in scope]))
            counts = np.bincount((code * chains + np.arange(chains)).ravel(), share, minlength=cells * chains)
            known[scope] = np.ascontiguousarray(counts.reshape(cells, chains).T).reshape(
                (chains, *(sizes[v] for v in scope))
            )
        return known[scope]

    return joint


def read(
    tangle: Tangle, shell: Shell, core: Mapping[int, Floats], joint: Callable[[tuple[int, ...]], Floats]
) -> Sampled:
    """Carry the core's odds [chains, S] and joint draws to the whole piece, widened to all genotypes."""
    import numpy as np

    network, n = tangle.network, len(tangle.network.allowed)
    beliefs = shell.expand(joint)
    each = dict(core)
    for clique, belief in zip(shell.cliques, beliefs, strict=True):
        each[clique[0]] = belief.sum(axis=tuple(range(2, belief.ndim)))
    p = {}
    for v, small in each.items():
        if v < n:
            p[v] = np.zeros((len(small), network.allowed.shape[1]))
            p[v][:, network.allowed[v]] = small
    pairs = {}
    for k, (sire, dam) in enumerate(network.pairs.tolist()):
        if sire in each and dam in each:
            possible = network.pair_table[k] > 0
            home = shell.home((sire, dam))
            if home < 0:
                cells = possible[np.ix_(network.allowed[sire], network.allowed[dam])]
                small = fitted((joint((sire, dam)) + 1e-5) * cells, each[sire], each[dam])
            else:
                small = onto(beliefs[home], (-1, *shell.cliques[home]), (-1, sire, dam))
            pairs[k] = np.zeros((len(small), *possible.shape))
            pairs[k][(slice(None), *np.ix_(network.allowed[sire], network.allowed[dam]))] = small
    picked = {v - n: odds for v, odds in each.items() if v >= n}
    return Sampled(p, pairs, picked)


def fitted(counts: Floats, rows: Floats, columns: Floats, rounds: int = 6) -> Floats:
    """Scale tables of joint draws [chains, A, B] to the better known margins (iterative proportional
    fitting)."""
    import numpy as np

    table = counts / counts.sum(axis=(1, 2), keepdims=True)
    for _ in range(rounds):
        for axis, margin in ((2, rows), (1, columns)):
            sums = table.sum(axis=axis)
            scale = np.divide(margin, sums, out=np.zeros_like(sums), where=sums > 0)
            table = table * np.expand_dims(scale, axis)
    return table / table.sum(axis=(1, 2), keepdims=True)  # type: ignore[no-any-return]
