"""Posterior genotypes of a family too tangled for an exact answer, by sampling, with the error stated.

A few unknowns are held fixed so that the rest can be summed and drawn exactly at one go (most of the family
moves together); then others are held. This is blocked Gibbs sampling over cutsets (Jensen, Kong & Kjaerulff
1995, Int. J. Hum.-Comput. Stud. 42:647-666; Thomas et al. 2000, Stat. Comput. 10:259-269; from memory). Kept
are the conditional chances rather than the draws. Many chains run side by side; their spread gives the error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import prod
from typing import TYPE_CHECKING, Any, cast

from eggtooth.engine.pedigree.elimination import Factor
from eggtooth.engine.pedigree.peeling import Sampled, Tangle

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]

CHAINS, SWEEPS, BURN_IN = 32, 32, 8
BATCH, ENOUGH = 8, 0.03
"""Sweeps between looks at the error, and the largest error at which sampling stops early."""
BLOCK_CELLS = 1024
LEAST_PLANS, MOST_PLANS = 3, 8


class NoStart(ValueError):
    """No world was found in which everything seen is true, so sampling could not begin."""


@dataclass
class _Step:
    """One unknown to sum out, and the later unknowns `around` it that it hangs on.

    `fixed`: product of the tables and messages that no held unknown touches, or None; `cuts`: tables with
    their held unknowns first, and the shape after cutting; `senders`: steps whose messages differ from chain
    to chain, with the shape they take here; `scale` keeps messages near 1. A step with neither cuts nor
    senders is `settled`: its message and `chance` never change.
    """

    unknown: int
    around: tuple[int, ...]
    fixed: Floats | None
    cuts: list[tuple[int, tuple[int, ...], tuple[int, ...], tuple[int, ...]]]
    senders: list[tuple[int, tuple[int, ...]]]
    scale: float = 0.0
    chance: Floats | None = None


def sample(
    tangle: Tangle,
    rng: np.random.Generator,
    chains: int = CHAINS,
    sweeps: int = SWEEPS,
    burn_in: int = BURN_IN,
) -> Sampled:
    """Sample one tangled piece.

    `sweeps` at most; fewer when no error is above `ENOUGH`. Half the chains start with as few carriers as can
    be, half with as many. The error of each figure is the standard deviation of the chains' means over the
    root of their number, and half of what the two halves still differ by. Raises `NoStart`. Cost: sweeps x
    unknowns x chains x `BLOCK_CELLS` at most.
    """

    run = _Run(tangle, rng, chains)
    plans = run.plans()
    run.find_start(plans)
    for k in range(burn_in):
        run.sweep(plans[k % len(plans)], keep=False)
    done = 0
    while done < sweeps:
        for _ in range(min(BATCH, sweeps - done)):
            run.sweep(plans[done % len(plans)], keep=True)
            done += 1
        p = {v: total / done for v, total in run.kept.items()}
        error = {v: _error(each) for v, each in p.items()}
        if max(float(e.max()) for e in error.values()) < ENOUGH:
            break
    return _read(tangle, {v: each.mean(axis=0) for v, each in p.items()}, error, run)


def _error(each: Floats) -> Floats:
    """Spread of the chains' means [chains, S], and what the two kinds of start still differ by."""
    import numpy as np

    half = len(each) // 2
    drift = (each[:half].mean(axis=0) - each[half:].mean(axis=0)) / 2
    return np.sqrt(each.var(axis=0, ddof=1) / len(each) + drift**2)  # type: ignore[no-any-return]


def _read(tangle: Tangle, p: Mapping[int, Floats], error: Mapping[int, Floats], run: _Run) -> Sampled:
    """Widen to all genotypes and find the joint posterior of pairs."""
    import numpy as np

    network, n = tangle.network, len(tangle.network.allowed)
    wide_p, wide_e = {}, {}
    for v in p:
        if v < n:
            wide_p[v], wide_e[v] = np.zeros((2, network.allowed.shape[1]))
            wide_p[v][network.allowed[v]], wide_e[v][network.allowed[v]] = p[v], error[v]
    pairs = {}
    mine = set(tangle.unknowns)
    for k, (sire, dam) in enumerate(network.pairs.tolist()):
        if sire in mine and dam in mine:
            small = fitted(run.seen_together(sire, dam), p[sire], p[dam])
            pairs[k] = np.zeros((network.allowed.shape[1],) * 2)
            pairs[k][np.ix_(network.allowed[sire], network.allowed[dam])] = small
    picked = {v - n: odds for v, odds in p.items() if v >= n}
    worlds = {v: np.stack(draws).astype(np.int8) for v, draws in run.draws.items()}
    return Sampled(wide_p, wide_e, pairs, picked, worlds)


def fitted(counts: Floats, rows: Floats, columns: Floats, rounds: int = 6) -> Floats:
    """Scale a table of joint draws to the better known margins (iterative proportional fitting)."""
    import numpy as np

    table = counts / counts.sum()
    for _ in range(rounds):
        for axis, margin in ((1, rows), (0, columns)):
            sums = table.sum(axis=axis)
            scale = np.divide(margin, sums, out=np.zeros_like(sums), where=sums > 0)
            table = table * (scale[:, None] if axis else scale[None, :])
    return table / table.sum()  # type: ignore[no-any-return]


class _Run:
    """The chains: `state[v]` [chains] of every unknown, sums of conditional chances, and the draws kept."""

    def __init__(self, tangle: Tangle, rng: np.random.Generator, chains: int) -> None:
        """Take this piece's factors and put every unknown in its most mixed genotype."""
        import numpy as np

        mine = set(tangle.unknowns)
        network = tangle.network
        self.factors = [f for f in network.factors if f.scope[0] in mine]
        self.tables = [f.values for f in self.factors]
        self.sizes = {v: network.sizes[v] for v in tangle.unknowns}
        self.rng, self.chains, self.every = rng, chains, np.arange(chains)
        self.state = {v: np.full(chains, _start(network, v)) for v in tangle.unknowns}
        if network.allowed.shape[1] == 3:
            for v, sparse in _sparse_start(tangle, rng, chains).items():
                self.state[v][: chains // 2] = sparse[: chains // 2]
        self.kept = {v: np.zeros((chains, size)) for v, size in self.sizes.items()}
        self.draws: dict[int, list[NDArray[Any]]] = {v: [] for v in tangle.unknowns}

    def plans(self) -> list[list[_Step]]:
        """Cutsets until every unknown is free in at least one."""
        held_before: dict[int, int] = dict.fromkeys(self.sizes, 0)
        out: list[list[_Step]] = []
        while len(out) < LEAST_PLANS or (
            len(out) < MOST_PLANS and any(times == len(out) for times in held_before.values())
        ):
            order, cliques = _cut_order(self.sizes, [f.scope for f in self.factors], held_before, self.rng)
            free = set(order)
            for v in self.sizes:
                held_before[v] += v not in free
            out.append(_plan(order, cliques, self.factors, self.sizes))
        return out

    def find_start(self, plans: Sequence[list[_Step]], rounds: int = 60) -> None:
        """Where the mixed start cannot be, soften all tables and let them harden over `rounds` sweeps."""
        import numpy as np

        hard = [f.values for f in self.factors]
        for k in range(rounds):
            if self._sound(hard).all():
                break
            self.tables = [t + 0.1 * 0.8**k for t in hard]
            self.sweep(plans[k % len(plans)], keep=False)
        self.tables = hard
        sound = self._sound(hard)
        if not sound.any():
            raise NoStart("no world was found in which everything seen is true")
        good = np.flatnonzero(sound)
        source = np.where(sound, self.every, good[self.every % len(good)])
        self.state = {v: x[source] for v, x in self.state.items()}

    def _sound(self, tables: Sequence[Floats]) -> NDArray[np.bool_]:
        import numpy as np

        out = np.ones(self.chains, dtype=bool)
        for factor, table in zip(self.factors, tables, strict=True):
            out &= table[tuple(self.state[v] for v in factor.scope)] > 0
        return out

    def sweep(self, plan: list[_Step], keep: bool) -> None:
        """Sum all free unknowns out, then draw them from the last to the first."""
        products = self._sum_out(plan)
        rolls = self.rng.random((len(plan), self.chains))
        for step, product, roll in zip(reversed(plan), reversed(products), rolls, strict=True):
            self._draw(step, product, roll, keep)
        if keep:
            self._keep_held(plan)

    def _sum_out(self, plan: list[_Step]) -> list[Floats | None]:
        """Products of the steps that are not settled; each has the chains as first axis."""
        state, chains = self.state, self.chains
        products: list[Floats | None] = []
        messages: list[Floats | None] = []
        for step in plan:
            if step.chance is not None:
                products.append(None)
                messages.append(None)
                continue
            product = step.fixed
            for number, held, axes, shape in step.cuts:
                cut = (
                    self.tables[number]
                    .transpose(axes)[tuple([state[v] for v in held])]
                    .reshape((chains, *shape))
                )
                product = cut if product is None else product * cut
            for sender, shape in step.senders:
                message = cast("Floats", messages[sender]).reshape((chains, *shape))
                product = message if product is None else product * message
            whole = cast("Floats", product)
            message = whole[:, 0] + whole[:, 1] if whole.shape[1] == 2 else whole.sum(axis=1)
            if step.scale == 0.0:
                step.scale = 1 / float(message.max())
            message *= step.scale
            products.append(whole)
            messages.append(message)
        return products

    def _draw(self, step: _Step, product: Floats | None, roll: Floats, keep: bool) -> None:
        import numpy as np

        around: list[Any] = [self.state[u] for u in step.around]
        if product is None:
            chance: Floats = cast("Any", step.chance)[(0, slice(None), *around)]
        else:
            chance = cast("Any", product)[(self.every, slice(None), *around)]
            total = chance[:, 0] + chance[:, 1] if chance.shape[1] == 2 else chance.sum(axis=1)
            chance = chance / total[:, None]
        if chance.ndim == 1:
            chance = chance[None]
        if chance.shape[1] == 2:
            drawn = (roll >= chance[:, 0]).astype(np.int8)
        else:
            drawn = (roll[:, None] >= chance[:, :-1].cumsum(axis=1)).sum(axis=1, dtype=np.int8)
        self.state[step.unknown] = drawn
        if keep:
            self.kept[step.unknown] += chance
            self.draws[step.unknown].append(drawn)

    def _keep_held(self, plan: list[_Step]) -> None:
        free = {step.unknown for step in plan}
        for v, x in self.state.items():
            if v not in free:
                self.kept[v][self.every, x] += 1
                self.draws[v].append(x)

    def seen_together(self, a: int, b: int) -> Floats:
        """How often each two states were drawn together, plus a little where tables allow them."""
        import numpy as np

        both = np.concatenate(self.draws[a]).astype(np.int64) * self.sizes[b] + np.concatenate(self.draws[b])
        counts = np.bincount(both, minlength=self.sizes[a] * self.sizes[b]).reshape(self.sizes[a], -1)
        for factor in self.factors:
            if factor.scope == (a, b):
                return np.asarray((counts + 0.01) * (factor.values > 0))
        return counts.astype(np.float64)


def _start(network: object, unknown: int) -> int:
    """The most mixed genotype still possible (a carrier rather than not); the first choice for a sire."""
    from eggtooth.engine.pedigree.peeling import Network

    assert isinstance(network, Network)
    if unknown >= len(network.allowed):
        return int(network.family.picks[unknown - len(network.allowed)].odds.argmax())
    genotypes = network.family.segregation.genotypes
    allowed = [g for g, ok in zip(genotypes, network.allowed[unknown], strict=True) if ok]
    return max(
        range(len(allowed)), key=lambda i: (allowed[i][0] != allowed[i][1], sum(map(bool, allowed[i])))
    )


def _sparse_start(tangle: Tangle, rng: np.random.Generator, chains: int) -> dict[int, Ints]:
    """Worlds with few carriers, different in every chain: who needs the allele gets it from one parent by
    lot.

    For two alleles on an autosome only: there, turning +/+ into a carrier never forbids an offspring.
    """
    import numpy as np

    network = tangle.network
    family, allowed = network.family, network.allowed
    least = np.repeat(allowed.argmax(axis=1)[None], chains, axis=0)
    mine = np.zeros(len(allowed), dtype=bool)
    mine[[v for v in tangle.unknowns if v < len(allowed)]] = True
    for k in np.flatnonzero(mine[network.pairs].any(axis=1)):
        _raise_parents(least, allowed, network.pairs[k], network.pair_table[k], rng)
    sires_of = {pick.row: pick.candidates for pick in family.picks}
    offspring = family.segregation.offspring
    for row in np.flatnonzero(mine)[::-1].tolist():
        if family.sire[row] >= 0:
            ends = np.array([family.sire[row], family.dam[row]])
            for state in np.flatnonzero(allowed[row]):
                table = np.where((least[:, row] == state)[:, None, None], offspring[:, :, state], 1.0)
                _raise_parents(least, allowed, ends, table, rng)
        elif row in sires_of:
            able = sires_of[row][allowed[sires_of[row], 1]]
            if len(able):
                chosen = able[rng.integers(len(able), size=chains)]
                up = np.flatnonzero((least[:, row] > 0) & (least[np.arange(chains), chosen] == 0))
                least[up, chosen[up]] = 1
    return {v: (allowed[v].cumsum() - 1)[least[:, v]] for v in np.flatnonzero(mine).tolist()}


def _raise_parents(
    state: Ints, allowed: NDArray[np.bool_], ends: Ints, table: Floats, rng: np.random.Generator
) -> None:
    """Where a table [S, S] (or one a chain) forbids two parents, make one a carrier by lot, if need be the
    other too."""
    import numpy as np

    chains = np.arange(len(state))
    stack = table if table.ndim == 3 else np.repeat(table[None], len(state), axis=0)
    first = rng.integers(2, size=len(state))
    for turn in (first, 1 - first):
        bad = stack[chains, state[:, ends[0]], state[:, ends[1]]] == 0
        who = ends[turn]
        up = np.flatnonzero(bad & (state[chains, who] == 0) & allowed[who, 1])
        state[up, who[up]] = 1


def _cut_order(
    sizes: Mapping[int, int],
    scopes: Sequence[tuple[int, ...]],
    held_before: Mapping[int, int],
    rng: np.random.Generator,
) -> tuple[list[int], list[tuple[int, ...]]]:
    """An order over free unknowns with small tables; unknowns that would make a large one are held
    instead."""
    from heapq import heapify, heappop, heappush

    near: dict[int, set[int]] = {v: set() for v in sizes}
    for scope in scopes:
        for v in scope:
            near[v].update(scope)
    for v, others in near.items():
        others.discard(v)
    luck = dict(zip(sizes, rng.random(len(sizes)).tolist(), strict=True))

    def cells(v: int) -> int:
        return sizes[v] * prod([sizes[u] for u in near[v]])

    heap = [(cells(v), luck[v], v) for v in near]
    heapify(heap)
    order, cliques = [], []
    while near:
        size, _, v = heappop(heap)
        if v not in near or size != cells(v):
            continue
        if size > BLOCK_CELLS:
            heappush(heap, (size, luck[v], v))
            v = max(near[v] | {v}, key=lambda u: len(near[u]) * (0.5 + luck[u]) * 0.1 ** held_before[u])
            around = near.pop(v)
            for u in around:
                near[u].discard(v)
                heappush(heap, (cells(u), luck[u], u))
            continue
        around = near.pop(v)
        order.append(v)
        cliques.append((v, *around))
        for u in around:
            near[u] |= around
            near[u] -= {u, v}
            heappush(heap, (cells(u), luck[u], u))
    return order, cliques


def _plan(
    order: Sequence[int],
    cliques: Sequence[tuple[int, ...]],
    factors: Sequence[Factor],
    sizes: Mapping[int, int],
) -> list[_Step]:
    """Line up every table and message with the step that takes it, and settle what no held unknown
    touches."""
    place = {v: k for k, v in enumerate(order)}
    arounds = [tuple(sorted((u for u in c[1:] if u in place), key=place.__getitem__)) for c in cliques]
    steps = [_Step(c[0], around, None, [], []) for c, around in zip(cliques, arounds, strict=True)]
    for number, factor in enumerate(factors):
        held = tuple(v for v in factor.scope if v not in place)
        free = sorted((v for v in factor.scope if v in place), key=place.__getitem__)
        if not free:
            continue
        step = steps[place[free[0]]]
        axes = tuple(factor.scope.index(v) for v in (*held, *free))
        shape = tuple(sizes[v] if v in free else 1 for v in (step.unknown, *step.around))
        if held:
            step.cuts.append((number, held, axes, shape))
        else:
            _multiply(step, factor.values.transpose(axes).reshape((1, *shape)))
    for k, step in enumerate(steps):
        _pass_on(steps, place, k, step, sizes)
    return steps


def _pass_on(
    steps: Sequence[_Step], place: Mapping[int, int], k: int, step: _Step, sizes: Mapping[int, int]
) -> None:
    """Send a settled step's message for good; otherwise note who will send to whom."""
    taker = steps[place[step.around[0]]] if step.around else None
    shape = (
        tuple(sizes[v] if v in step.around else 1 for v in (taker.unknown, *taker.around)) if taker else ()
    )
    if step.cuts or step.senders or step.fixed is None:
        if taker:
            taker.senders.append((k, shape))
        return
    full = _whole(step, sizes)
    step.chance = full / full.sum(axis=1, keepdims=True).clip(1e-300)
    if taker:
        message = full.sum(axis=1)
        _multiply(taker, (message / message.max()).reshape((1, *shape)))


def _whole(step: _Step, sizes: Mapping[int, int]) -> Floats:
    """The step's table with every axis at full length."""
    import numpy as np

    shape = (1, sizes[step.unknown], *(sizes[u] for u in step.around))
    return np.broadcast_to(step.fixed if step.fixed is not None else np.ones(1), shape)


def _multiply(step: _Step, table: Floats) -> None:
    step.fixed = table if step.fixed is None else step.fixed * table
