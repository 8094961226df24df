"""A sampled family with a little more evidence: the worlds drawn before, weighed by how well they fit the new
records.

Importance weights; what was known better than by counting draws is kept, and only the shift is read from the
weights (control variate). When too few worlds fit, or a genotype became certain or impossible, the answer is
None and the family is sampled anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from eggtooth.engine.pedigree.peeling import Network, Sampled, Tangle
from eggtooth.engine.pedigree.sampling import fitted

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]

Scope = tuple[int, ...]
LEAST_SHARE = 0.1
STILL = 2e-4
MOST_NEW = 2


@dataclass(frozen=True)
class Drawn:
    """A sampled piece, kept by skeleton rows so that it outlives its network.

    `place` numbers the unknowns; `worlds` [V, sweeps, chains] their states; `sizes`, `p`, `error` by number;
    `tables` and `pairs` (joint odds) by skeleton rows.
    """

    place: Mapping[int, int]
    worlds: NDArray[np.int8]
    allowed: tuple[NDArray[np.bool_], ...]
    p: tuple[Floats, ...]
    error: tuple[Floats, ...]
    pairs: Mapping[tuple[int, int], Floats]
    tables: Mapping[Scope, Floats]


def drawn(tangle: Tangle, sampled: Sampled, rows: Ints) -> Drawn | None:
    """Keep a sampled piece; None when uncertain sires are part of it. `rows`: skeleton row of each family
    row."""
    import numpy as np

    network, n = tangle.network, len(rows)
    if any(v >= n for v in tangle.unknowns):
        return None
    place = {int(rows[v]): k for k, v in enumerate(tangle.unknowns)}
    worlds = np.stack([sampled.worlds[v] for v in tangle.unknowns])
    allowed = tuple(network.allowed[v] for v in tangle.unknowns)
    p = tuple(sampled.p[v] for v in tangle.unknowns)
    error = tuple(sampled.error[v] for v in tangle.unknowns)
    ends = network.pairs
    pairs = {(int(rows[ends[k][0]]), int(rows[ends[k][1]])): odds for k, odds in sampled.pairs.items()}
    return Drawn(place, worlds, allowed, p, error, pairs, _tables(network, tangle.unknowns, rows))


def reweighed(tangle: Tangle, rows: Ints, old: Drawn) -> Sampled | None:
    """Answer a changed piece from old draws, or None. Cost: unknowns x draws, a few array operations each."""
    import numpy as np

    network = tangle.network
    if any(v >= len(rows) for v in tangle.unknowns):
        return None
    by_row = {int(rows[v]): v for v in tangle.unknowns}
    extra = [r for r in by_row if r not in old.place]
    if len(extra) > MOST_NEW or any(r not in by_row for r in old.place):
        return None
    if any((network.allowed[by_row[r]] != old.allowed[k]).any() for r, k in old.place.items()):
        return None
    tables = _tables(network, tangle.unknowns, rows)
    weight = np.ones(old.worlds.shape[1:])
    for scope in dict.fromkeys([*tables, *old.tables]):
        if all(r in old.place for r in scope):
            weight = weight * _at(old, scope, _ratio(tables.get(scope), old.tables.get(scope)))
    fresh = _fresh(old, tables, extra, [network.sizes[by_row[r]] for r in extra])
    weight = weight * fresh.sum(axis=tuple(range(2, fresh.ndim)))
    if weight.sum() ** 2 < LEAST_SHARE * weight.size * (weight**2).sum() or (weight.sum(axis=0) == 0).any():
        return None
    return _read(network, rows, old, weight, fresh, extra, by_row)


def _tables(network: Network, unknowns: Sequence[int], rows: Ints) -> dict[Scope, Floats]:
    mine, out = set(unknowns), dict[Scope, Any]()
    for factor in network.factors:
        if factor.scope[0] in mine:
            scope = tuple(int(rows[v]) for v in factor.scope)
            out[scope] = out[scope] * factor.values if scope in out else factor.values
    return out


def _ratio(new: Floats | None, old: Floats | None) -> Floats | None:
    """What a table changed by; None when it did not."""
    import numpy as np

    if new is None or old is None:
        return new if old is None else np.divide(1, old, out=np.zeros_like(old), where=old > 0)
    if new.shape == old.shape and np.array_equal(new, old):
        return None
    return np.divide(new, old, out=np.zeros_like(new), where=old > 0)


def _at(old: Drawn, scope: Scope, table: Floats | None) -> Floats | float:
    return 1.0 if table is None else table[tuple(old.worlds[old.place[r]] for r in scope)]


def _fresh(old: Drawn, tables: Mapping[Scope, Floats], extra: list[int], sizes: list[int]) -> Floats:
    """Tables of new unknowns at every old world, shape [sweeps, chains, *sizes]."""
    import numpy as np

    out = np.ones((*old.worlds.shape[1:], *sizes))
    for scope, table in tables.items():
        new = [r for r in extra if r in scope]
        if new:
            known = [r for r in scope if r in old.place]
            axes = [scope.index(r) for r in (*known, *new)]
            cut = table.transpose(axes)[tuple(old.worlds[old.place[r]] for r in known)]
            cut = cut if known else np.broadcast_to(cut, (*old.worlds.shape[1:], *cut.shape))
            out = out * cut.reshape(
                (*old.worlds.shape[1:], *(s if r in new else 1 for r, s in zip(extra, sizes, strict=True)))
            )
    return out


def _read(
    network: Network,
    rows: Ints,
    old: Drawn,
    weight: Floats,
    fresh: Floats,
    extra: list[int],
    by_row: Mapping[int, int],
) -> Sampled:
    """Shifted odds of old unknowns, odds of new ones, and joint odds of pairs."""
    import numpy as np

    size, chains = network.allowed.shape[1], weight.shape[1]
    share = weight / weight.sum(axis=0)
    p, error = {}, {}
    shift = np.zeros((len(old.place), size, chains))
    for state in range(max(int(a.sum()) for a in old.allowed)):
        hit = old.worlds == state
        shift[:, state] = np.einsum("vsc,sc->vc", hit, share - 1 / len(share))
    for r, k in old.place.items():
        cells = np.flatnonzero(old.allowed[k])
        moved = shift[k, : len(cells)]
        odds = np.clip(old.p[k][cells] + moved.mean(axis=1), 0, None)
        p[by_row[r]], error[by_row[r]] = np.zeros((2, size))
        p[by_row[r]][cells] = odds / odds.sum()
        spread = moved.std(axis=1, ddof=1) / np.sqrt(chains)
        error[by_row[r]][cells] = np.sqrt(old.error[k][cells] ** 2 + spread**2)
    inner = fresh / np.maximum(fresh.sum(axis=tuple(range(2, fresh.ndim)), keepdims=True), 1e-300)
    for axis, r in enumerate(extra):
        each = inner.sum(axis=tuple(2 + a for a in range(len(extra)) if a != axis))
        each = np.einsum("scx,sc->cx", each, share)
        cells = np.flatnonzero(network.allowed[by_row[r]])
        p[by_row[r]], error[by_row[r]] = np.zeros((2, size))
        p[by_row[r]][cells] = each.mean(axis=0)
        error[by_row[r]][cells] = each.std(axis=0, ddof=1) / np.sqrt(chains)
    return Sampled(p, error, _pairs(network, rows, old, weight, inner, extra, p), {}, {})


def _pairs(
    network: Network,
    rows: Ints,
    old: Drawn,
    weight: Floats,
    inner: Floats,
    extra: list[int],
    p: Mapping[int, Floats],
) -> dict[int, Floats]:
    import numpy as np

    out = {}
    for k, (sire, dam) in enumerate(network.pairs.tolist()):
        if sire in p and dam in p and not _moved(old, int(rows[sire]), int(rows[dam]), p[sire], p[dam]):
            out[k] = old.pairs[int(rows[sire]), int(rows[dam])]
        elif sire in p and dam in p:
            a, b = np.flatnonzero(network.allowed[sire]), np.flatnonzero(network.allowed[dam])
            one = _states(old, int(rows[sire]), inner, extra)
            two = _states(old, int(rows[dam]), inner, extra)
            ends = [int(rows[sire]), int(rows[dam])]
            counts = _together(one, two, weight, inner, ends, extra, (len(a), len(b)))
            seen = network.pair_table[k][np.ix_(a, b)] > 0
            out[k] = np.zeros((network.allowed.shape[1],) * 2)
            out[k][np.ix_(a, b)] = fitted((counts + 1e-3 * weight.mean()) * seen, p[sire][a], p[dam][b])
    return out


def _moved(old: Drawn, sire: int, dam: int, one: Floats, two: Floats) -> bool:
    """Whether either of a pair's odds shifted by more than can matter."""
    if (sire, dam) not in old.pairs:
        return True
    before = old.p[old.place[sire]], old.p[old.place[dam]]
    return max(float(abs(one - before[0]).max()), float(abs(two - before[1]).max())) > STILL


def _states(old: Drawn, row: int, inner: Floats, extra: list[int]) -> NDArray[Any]:
    """Drawn states of an old unknown, or chances [sweeps, chains, size] of a new one."""
    import numpy as np

    if row in old.place:
        return np.asarray(old.worlds[old.place[row]])
    axis = extra.index(row)
    return np.asarray(inner.sum(axis=tuple(2 + a for a in range(len(extra)) if a != axis)))


def _together(
    one: Any,
    two: Any,
    weight: Floats,
    inner: Floats,
    pair: list[int],
    extra: list[int],
    shape: tuple[int, int],
) -> Floats:
    """Weighted counts of two unknowns' states."""
    import numpy as np

    if pair[0] in extra and pair[1] in extra:
        joint = np.einsum("scxy,sc->xy", inner, weight)
        return np.asarray(joint if pair == extra else joint.T)
    if one.ndim == 2 and two.ndim == 2:
        both = one.ravel().astype(np.int64) * shape[1] + two.ravel()
        return np.asarray(
            np.bincount(both, weight.ravel(), minlength=shape[0] * shape[1]).reshape(shape), dtype=np.float64
        )
    if one.ndim == 2:
        return np.stack([np.einsum("scy,sc->y", two, weight * (one == s)) for s in range(shape[0])])
    return np.stack([np.einsum("scx,sc->x", one, weight * (two == s)) for s in range(shape[1])], axis=1)
