"""Chains of worlds over the core of a tangled piece, moved a block at a time.

A few unknowns are held fixed so that the rest can be summed and drawn exactly at one go; then others are
held. This is blocked Gibbs sampling over cutsets (Jensen, Kong & Kjaerulff 1995, Int. J. Hum.-Comput. Stud.
42:647-666; Thomas et al. 2000, Stat. Comput. 10:259-269; from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from eggtooth.engine.pedigree.blocks import cutsets
from eggtooth.engine.pedigree.elimination import Factor
from eggtooth.engine.pedigree.levels import Level, Plan, padded, places_of, plan_of, strides_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    States = NDArray[np.int8]


class NoStart(ValueError):
    """No world was found in which everything seen is true, so sampling could not begin."""


class Chains:
    """`state` [V + 1, chains] of every unknown by place (the last row is 0), mean chances by batch, draws.

    Sums are in single precision until one comes out as 0 that cannot be.
    """

    def __init__(
        self,
        sizes: Mapping[int, int],
        factors: Sequence[Factor],
        start: Mapping[int, NDArray[Any]],
        rng: np.random.Generator,
        plans: int = 4,
    ) -> None:
        """Unknowns with their sizes, tables over them, and where each chain starts; cutsets taken in turn."""
        import numpy as np

        self.names, self.rng = tuple(sizes), rng
        place = {v: k for k, v in enumerate(sizes)}
        self.sizes = dict(enumerate(sizes.values()))
        self.factors = [Factor(tuple(place[v] for v in f.scope), f.values) for f in factors]
        chains = len(next(iter(start.values())))
        self.state: Ints = np.zeros((len(sizes) + 1, chains), dtype=np.int64)
        for v, k in place.items():
            self.state[k] = start[v]
        self.every = np.arange(chains)
        lengths = np.array([f.values.size for f in factors])
        self.begins = lengths.cumsum() - lengths
        self.hard = np.concatenate([f.values.ravel() for f in factors])
        self.tables: NDArray[Any] = self.hard.astype(np.float32)
        self.scopes, self.strides = padded(
            [list(zip(f.scope, strides_of(f.values.shape), strict=True)) for f in self.factors], len(sizes)
        )
        self.batches: list[Floats] = []
        self.draws: list[States] = []
        begins = self.begins.tolist()
        self.plans = [
            plan_of(order, cliques, self.factors, begins, self.sizes)
            for order, cliques in cutsets(self.sizes, [f.scope for f in self.factors], rng, plans)
        ]
        self.turn = 0

    def find_start(self, rounds: int = 60) -> None:
        """Where a start cannot be, soften all tables and let them harden over `rounds` sweeps. Raises
        `NoStart`."""
        import numpy as np

        for k in range(rounds):
            if self._sound().all():
                break
            self.tables = self.hard + 0.1 * 0.8**k
            self._sweep(None)
        self.tables = self.hard.astype(np.float32)
        sound = self._sound()
        if not sound.any():
            raise NoStart("no world was found in which everything seen is true")
        good = np.flatnonzero(sound)
        self.state = self.state[:, np.where(sound, self.every, good[self.every % len(good)])]

    def _sound(self) -> NDArray[np.bool_]:
        """Chains whose worlds are possible, shape [chains]."""
        import numpy as np

        at = places_of(self.state, self.begins, self.scopes, self.strides)
        return np.asarray((self.hard[at] > 0).all(axis=0))

    def batch(self, sweeps: int) -> None:
        """Move all chains and keep the conditional chances, rather than the draws alone."""
        import numpy as np

        kept = np.zeros((len(self.names), max(self.sizes.values()), len(self.every)), dtype=np.float32)
        for _ in range(sweeps):
            self._sweep(kept)
            self.draws.append(self.state[:-1].astype(np.int8))
        self.batches.append(kept / sweeps)

    def later_chances(self) -> dict[int, Floats]:
        """Mean chances [chains, S] of each unknown over the later half of the batches."""
        import numpy as np

        late = np.asarray(np.mean(self.batches[len(self.batches) // 2 :], axis=0, dtype=np.float64))
        return {v: late[k, : self.sizes[k]].T for k, v in enumerate(self.names)}

    def later_draws(self) -> States:
        """Draws [V, sweeps, chains] of the later half of the batches."""
        import numpy as np

        return np.stack(self.draws[len(self.draws) * (len(self.batches) // 2) // len(self.batches) :], axis=1)

    def _sweep(self, kept: NDArray[np.float32] | None) -> None:
        """Sum all free unknowns out, then draw them from the last to the first."""
        plan = self.plans[self.turn % len(self.plans)]
        self.turn += 1
        products, lost = self._sum_out(plan)
        if lost and kept is not None:
            self.tables = self.hard  # some chance was too small for single precision
            products, _ = self._sum_out(plan)
        for level, product in zip(reversed(plan.levels), reversed(products), strict=True):
            chance = self._draw(level, product)
            if kept is not None:
                kept[level.unknowns, : len(chance)] += chance.transpose(1, 0, 2)
        if kept is not None:
            kept[plan.always[:, None], self.state[plan.always], self.every] += 1

    def _sum_out(self, plan: Plan) -> tuple[list[NDArray[Any]], bool]:
        """Products [S, A, chains] of the levels; whether one is 0 throughout."""
        import numpy as np

        rows = np.ones((plan.rows, len(self.every)), dtype=self.tables.dtype)
        shift = places_of(self.state, np.zeros(plan.held.shape[1], dtype=np.int64), plan.held, plan.strides)
        rows[1 : 1 + len(plan.cells)] = self.tables[plan.cells[:, None] + shift[plan.cut]]
        products, lost = [], False
        for level in plan.levels:
            product = np.repeat(level.fixed.astype(rows.dtype)[:, :, None], len(self.every), axis=2)
            for which in level.rounds:
                product[:, : which.shape[1]] *= rows[which]
            message = product.sum(axis=0)
            top = np.maximum.reduceat(message, level.first, axis=0)
            if not top.all():
                lost = True
                top[top == 0] = 1
            np.divide(message, top[level.owner], out=rows[level.messages])
            products.append(product)
        return products, lost

    def _draw(self, level: Level, product: NDArray[Any]) -> NDArray[Any]:
        """Draw the unknowns of a level given those around them; returns their chances [S, steps, chains]."""
        import numpy as np

        at = places_of(self.state, level.first, level.around, level.strides)
        at *= len(self.every)
        at += self.every
        chance = product.reshape(len(product), -1).take(at, axis=1)
        total = chance.sum(axis=0)
        if not total.all():  # only while a start is looked for: all its states alike
            chance += total == 0
            total = chance.sum(axis=0)
        chance /= total
        roll = self.rng.random(total.shape, dtype=np.float32)
        drawn = (roll >= chance[0]).astype(np.int64)
        for k in range(1, len(chance) - 1):
            drawn += roll >= chance[: k + 1].sum(axis=0)
        self.state[level.unknowns] = drawn
        return chance
