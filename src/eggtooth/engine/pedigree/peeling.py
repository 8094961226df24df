"""Posterior genotypes of a whole pedigree at one locus, exactly.

Animals without offspring, and animals whose genotype is certain, are folded into a table over their parents'
genotypes (Elston & Stewart 1971, Hum. Hered. 21:523-542; Cannings, Thompson & Skolnick 1978, Adv. Appl. Prob.
10:26-61; from memory). What stays open is split into pieces that do not touch, and each piece is summed by
`elimination`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from eggtooth.engine.pedigree.domains import possible
from eggtooth.engine.pedigree.elimination import Factor, Sums, TooTangled, eliminate
from eggtooth.engine.pedigree.family import Family, Impossible, Posterior

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

BUDGET_CELLS = 20_000_000
"""Table cells one piece of a family may need before it is called too tangled for an exact answer."""
CHUNK_CELLS = 4_000_000


@dataclass(frozen=True)
class Network:
    """The open part of a family.

    `allowed` [n, S] possible genotypes; `folded` [n]: rows summed into their parents' table; `pairs` [m, 2]:
    distinct (sire, dam) of folded rows, `pair_of` [n] the pair of each folded row (-1: none), `pair_table`
    [m, S, S] the product of their likelihoods (largest entry 1); `factors` over open rows (numbers from n up
    are the choices of picks) and
    `sizes` of all unknowns; `log_scale`: log of everything already summed or scaled away.
    """

    family: Family
    allowed: Bools
    folded: Bools
    pairs: Ints
    pair_of: Ints
    pair_table: Floats
    factors: Sequence[Factor]
    sizes: Mapping[int, int]
    log_scale: float


@dataclass(frozen=True)
class Sampled:
    """A piece answered by sampling: `p`, `error` [S] by row, joint odds [S, S] by pair number, odds by pick
    number.

    `worlds` [sweeps, chains] by unknown: the states drawn, numbered among those still possible.
    """

    p: Mapping[int, Floats]
    error: Mapping[int, Floats]
    pairs: Mapping[int, Floats]
    picked: Mapping[int, Floats]
    worlds: Mapping[int, NDArray[np.int8]]


@dataclass(frozen=True)
class Tangle:
    """One piece of one family's network that is too tangled: its open rows and choices of sires."""

    network: Network
    unknowns: Sequence[int]


Sampler = Callable[[Tangle], "Sampled"]


def posterior(family: Family, budget: int = BUDGET_CELLS, sampler: Sampler | None = None) -> Posterior:
    """Posterior genotype of every row at one locus; see `posteriors`. Raises `Impossible`."""
    network = build(family)
    solved = solve(network, budget)
    if solved.tangles and sampler is None:
        raise TooTangled(budget + 1, budget)
    return finish(network, solved, [sampler(t) for t in solved.tangles] if sampler else [])


@dataclass
class Solved:
    """Posteriors of what could be summed exactly, and the pieces that could not."""

    single: dict[int, Floats]
    joint: dict[tuple[int, ...], Floats]
    tangles: list[Tangle]
    log_total: float


def build(family: Family) -> Network:
    """Strike out the impossible, fold what can be folded and list the factors that are left."""
    import numpy as np

    allowed = possible(family)
    born = family.sire >= 0
    used = np.zeros(len(born), dtype=bool)
    used[family.sire[born]] = used[family.dam[born]] = True
    for pick in family.picks:
        used[pick.candidates] = used[pick.row] = True
    closed = allowed.sum(axis=1) == 1
    folded = born & (closed | ~used)
    pairs, pair_of = _pairs_of(family, folded)
    pair_table, log_scale = _fold(family, allowed, folded, pairs, pair_of)
    open_rows = used & ~closed
    sizes = {int(r): int(allowed[r].sum()) for r in np.flatnonzero(open_rows)}
    factors = _factors(family, allowed, open_rows, pairs, pair_table)
    sizes |= {len(born) + k: len(pick.odds) for k, pick in enumerate(family.picks)}
    factors += _pick_factors(family, allowed, open_rows)
    settled = ~born & ~open_rows
    for pick in family.picks:
        settled[pick.row] = False
    more = float(np.log((family.table * allowed)[settled].sum(axis=1)).sum())
    return Network(family, allowed, folded, pairs, pair_of, pair_table, factors, sizes, log_scale + more)


def _pairs_of(family: Family, folded: Bools) -> tuple[Ints, Ints]:
    import numpy as np

    n = len(folded)
    rows = np.flatnonzero(folded)
    keys, which = np.unique(family.sire[rows] * n + family.dam[rows], return_inverse=True)
    pair_of = np.full(n, -1)
    pair_of[rows] = which
    return np.stack([keys // n, keys % n], axis=1), pair_of


def _fold(family: Family, allowed: Bools, folded: Bools, pairs: Ints, pair_of: Ints) -> tuple[Floats, float]:
    """Product over the folded offspring of each pair of P(seen on offspring | sire, dam)."""
    import numpy as np

    size = allowed.shape[1]
    offspring = family.segregation.offspring.reshape(size * size, size)
    rows = np.flatnonzero(folded)
    rows = rows[np.argsort(pair_of[rows], kind="stable")]
    table = np.ones((len(pairs), size * size))
    log_scale = 0.0
    for mine in _chunks(pair_of[rows], max(1, CHUNK_CELLS // (size * size))):
        chunk = rows[mine]
        seen = (family.table * allowed)[chunk] @ offspring.T
        top = seen.max(axis=1, keepdims=True)
        if (top == 0).any():
            raise Impossible(chunk[top[:, 0] == 0].tolist())
        log_scale += float(np.log(top).sum())
        which, starts = np.unique(pair_of[chunk], return_index=True)
        table[which] = np.multiply.reduceat(seen / top, starts, axis=0)
    table *= (allowed[pairs[:, 0], :, None] & allowed[pairs[:, 1], None, :]).reshape(len(pairs), size * size)
    top = table.max(axis=1, keepdims=True) if len(pairs) else np.ones((0, 1))
    if (top == 0).any():
        raise Impossible(np.flatnonzero(np.isin(pair_of, np.flatnonzero(top[:, 0] == 0))).tolist())
    return (table / top).reshape(-1, size, size), log_scale + float(np.log(top).sum())


def _chunks(groups: Ints, most: int) -> list[slice]:
    """Cut a sorted array into runs of whole groups of about `most` items."""
    import numpy as np

    out, start = [], 0
    while start < len(groups):
        stop = min(len(groups), start + most)
        if stop < len(groups):
            cut = int(np.searchsorted(groups, groups[stop]))
            stop = cut if cut > start else int(np.searchsorted(groups, groups[stop], side="right"))
        out.append(slice(start, stop))
        start = stop
    return out


def _factors(
    family: Family, allowed: Bools, open_rows: Bools, pairs: Ints, pair_table: Floats
) -> list[Factor]:
    """Tables of open founders, of pairs with an open parent and of open offspring."""
    import numpy as np

    out = []
    for row in np.flatnonzero(open_rows & (family.sire < 0)):
        out.append(Factor((int(row),), family.table[row][allowed[row]]))
    for k in np.flatnonzero(open_rows[pairs].any(axis=1)):
        out.append(_restricted(pair_table[k], [int(r) for r in pairs[k]], allowed, open_rows))
    offspring = family.segregation.offspring
    for row in np.flatnonzero(open_rows & (family.sire >= 0)):
        sire, dam = int(family.sire[row]), int(family.dam[row])
        out.append(_restricted(offspring * family.table[row], [sire, dam, int(row)], allowed, open_rows))
    return out


def _restricted(table: Floats, rows: Sequence[int], allowed: Bools, open_rows: Bools) -> Factor:
    """A table cut down to the genotypes still possible, certain animals left out."""
    import numpy as np

    cut = table[np.ix_(*(np.flatnonzero(allowed[r]) for r in rows))]
    kept = tuple(r for r in rows if open_rows[r])
    return Factor(kept, cut.reshape([int(allowed[r].sum()) for r in kept]))


def _pick_factors(family: Family, allowed: Bools, open_rows: Bools) -> list[Factor]:
    """Each pick k: its odds, and for each candidate 'if chosen, the stand-in has this candidate's
    genotype'."""
    import numpy as np

    out, n = [], len(allowed)
    for k, pick in enumerate(family.picks):
        out.append(Factor((n + k,), pick.odds))
        for choice, candidate in enumerate(pick.candidates.tolist()):
            rows = [pick.row, candidate]
            same = np.eye(allowed.shape[1])
            table = np.ones((len(pick.odds), *same.shape))
            table[choice] = same
            cut = table[np.ix_(np.arange(len(table)), *(np.flatnonzero(allowed[r]) for r in rows))]
            kept = [r for r in rows if open_rows[r]]
            shape = [len(table), *(int(allowed[r].sum()) for r in kept)]
            out.append(Factor((n + k, *kept), cut.reshape(shape)))
    return out


def solve(network: Network, budget: int = BUDGET_CELLS) -> Solved:
    """Sum every piece that fits the budget (table cells a piece). Raises `Impossible`."""
    out = Solved({}, {}, [], network.log_scale)
    for unknowns, factors in _pieces(network):
        try:
            sums = _sums(network, unknowns, factors, budget)
        except TooTangled:
            out.tangles.append(Tangle(network, unknowns))
            out.log_total = float("nan")
            continue
        out.single |= sums.single
        out.joint |= {f.scope: t for f, t in zip(factors, sums.joint, strict=True) if len(f.scope) == 2}
        out.log_total += sums.log_total
    return out


def _sums(network: Network, unknowns: Sequence[int], factors: Sequence[Factor], budget: int) -> Sums:
    try:
        return eliminate({v: network.sizes[v] for v in unknowns}, factors, budget)
    except ZeroDivisionError:
        raise Impossible([v for v in unknowns if v < len(network.allowed)]) from None


def _pieces(network: Network) -> list[tuple[list[int], list[Factor]]]:
    """Open unknowns grouped so that no factor joins two groups."""
    root = {v: v for v in network.sizes}

    def find(v: int) -> int:
        while root[v] != v:
            root[v] = root[root[v]]
            v = root[v]
        return v

    for factor in network.factors:
        for v in factor.scope[1:]:
            root[find(v)] = find(factor.scope[0])
    unknowns: dict[int, list[int]] = {}
    for v in network.sizes:
        unknowns.setdefault(find(v), []).append(v)
    factors: dict[int, list[Factor]] = {top: [] for top in unknowns}
    for factor in network.factors:
        factors[find(factor.scope[0])].append(factor)
    return [(unknowns[top], factors[top]) for top in unknowns]


def finish(network: Network, solved: Solved, sampled: Sequence[Sampled]) -> Posterior:
    """Posterior of open rows as found, of certain rows, and of folded rows from their parents."""
    import numpy as np

    family, allowed, n = network.family, network.allowed, len(network.allowed)
    p = family.table * allowed
    for pick in family.picks:
        p[pick.row] = allowed[pick.row]
    p /= p.sum(axis=1, keepdims=True)
    for v, odds in solved.single.items():
        if v < n:
            p[v, allowed[v]] = odds
    error = np.zeros_like(p) if sampled else None
    for piece in sampled:
        for v, odds in piece.p.items():
            p[v] = odds
            cast("Floats", error)[v] = piece.error[v]
    beliefs = _pair_beliefs(network, p, solved.joint, sampled)
    _unfold(network, p, error, beliefs)
    picked = [solved.single.get(n + k, pick.odds) for k, pick in enumerate(family.picks)]
    for piece in sampled:
        for k, odds in piece.picked.items():
            picked[k] = odds
    return Posterior(p, solved.log_total, tuple(picked), error)


def _pair_beliefs(
    network: Network, p: Floats, joint: Mapping[tuple[int, ...], Floats], sampled: Sequence[Sampled]
) -> Floats:
    """Joint posterior of every pair with folded offspring, shape [pairs, S, S]."""
    import numpy as np

    out = p[network.pairs[:, 0], :, None] * p[network.pairs[:, 1], None, :]
    both = network.allowed.sum(axis=1) > 1
    for k in np.flatnonzero(both[network.pairs].all(axis=1)).tolist():
        sire, dam = (int(r) for r in network.pairs[k])
        if (sire, dam) in joint:
            cells = np.ix_(network.allowed[sire], network.allowed[dam])
            out[k][cells] = joint[sire, dam]
    for piece in sampled:
        for k, odds in piece.pairs.items():
            out[k] = odds
    return out


def _unfold(network: Network, p: Floats, error: Floats | None, beliefs: Floats) -> None:
    """P(folded row) from its parents' joint posterior without its own share of the evidence."""
    import numpy as np

    family, size = network.family, p.shape[1]
    offspring = family.segregation.offspring.reshape(size * size, size)
    closed = network.allowed.sum(axis=1) == 1
    rows = np.flatnonzero(network.folded & ~closed)
    for start in range(0, len(rows), max(1, CHUNK_CELLS // (size * size))):
        chunk = rows[start : start + max(1, CHUNK_CELLS // (size * size))]
        own = (family.table * network.allowed)[chunk]
        seen = own @ offspring.T
        belief = beliefs[network.pair_of[chunk]].reshape(len(chunk), -1)
        weight = np.divide(belief, seen, out=np.zeros_like(seen), where=seen > 0)
        p[chunk] = (weight @ offspring) * own
        if error is not None:
            parents = error[family.sire[chunk]].max(axis=1) + error[family.dam[chunk]].max(axis=1)
            error[chunk] = parents[:, None] * (p[chunk] > 0) * (p[chunk] < 1)
