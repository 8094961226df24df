"""Chains of worlds over the core of a tangled piece, moved a block at a time.

A few unknowns are held fixed so that the rest can be summed and drawn exactly at one go; then others are
held. This is blocked Gibbs sampling over cutsets (Jensen, Kong & Kjaerulff 1995, Int. J. Hum.-Comput. Stud.
42:647-666; Thomas et al. 2000, Stat. Comput. 10:259-269; from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, cast

from eggtooth.engine.pedigree.blocks import LEAST_PLANS, MOST_PLANS, Step, cut_order, plan_of
from eggtooth.engine.pedigree.elimination import Factor

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    States = NDArray[np.int8]


class NoStart(ValueError):
    """No world was found in which everything seen is true, so sampling could not begin."""


class Chains:
    """`state[v]` [chains] of every unknown, sums of conditional chances by batch, and the draws kept."""

    def __init__(
        self,
        sizes: Mapping[int, int],
        factors: Sequence[Factor],
        start: Mapping[int, NDArray[Any]],
        rng: np.random.Generator,
    ) -> None:
        """Unknowns with their sizes, tables over them, and where each chain starts."""
        import numpy as np

        self.sizes, self.factors, self.rng = sizes, factors, rng
        self.tables = [f.values for f in factors]
        self.state: dict[int, NDArray[Any]] = {v: np.asarray(start[v]) for v in sizes}
        self.chains = len(next(iter(self.state.values())))
        self.every = np.arange(self.chains)
        self.batches: list[dict[int, Floats]] = []
        self.draws: list[States] = []
        self.plans = self._plans()
        self.turn = 0

    def _plans(self) -> list[list[Step]]:
        """Cutsets until every unknown is free in at least one."""
        held_before: dict[int, int] = dict.fromkeys(self.sizes, 0)
        out: list[list[Step]] = []
        while len(out) < LEAST_PLANS or (
            len(out) < MOST_PLANS and any(times == len(out) for times in held_before.values())
        ):
            order, cliques = cut_order(self.sizes, [f.scope for f in self.factors], held_before, self.rng)
            free = set(order)
            for v in self.sizes:
                held_before[v] += v not in free
            out.append(plan_of(order, cliques, self.factors, self.sizes))
        return out

    def find_start(self, rounds: int = 60) -> None:
        """Where a start cannot be, soften all tables and let them harden over `rounds` sweeps. Raises
        `NoStart`."""
        import numpy as np

        hard = [f.values for f in self.factors]
        for k in range(rounds):
            if self._sound(hard).all():
                break
            self.tables = [t + 0.1 * 0.8**k for t in hard]
            self._sweep(None)
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

    def batch(self, sweeps: int) -> None:
        """Move all chains and keep the conditional chances, rather than the draws alone."""
        import numpy as np

        kept = {v: np.zeros((self.chains, size)) for v, size in self.sizes.items()}
        for _ in range(sweeps):
            self._sweep(kept)
            self.draws.append(np.stack([self.state[v] for v in self.sizes]).astype(np.int8))
        self.batches.append({v: total / sweeps for v, total in kept.items()})

    def later_half(self) -> tuple[dict[int, Floats], States]:
        """Mean chances [chains, S] of each unknown over the later half of the batches, and draws [V, sweeps,
        chains]."""
        import numpy as np

        late = self.batches[len(self.batches) // 2 :]
        first = len(self.draws) * (len(self.batches) // 2) // len(self.batches)
        each = {v: np.mean([b[v] for b in late], axis=0) for v in self.sizes}
        return each, np.stack(self.draws[first:], axis=1)

    def _sweep(self, kept: dict[int, Floats] | None) -> None:
        """Sum all free unknowns out, then draw them from the last to the first."""
        plan = self.plans[self.turn % len(self.plans)]
        self.turn += 1
        products = self._sum_out(plan)
        rolls = self.rng.random((len(plan), self.chains))
        for step, product, roll in zip(reversed(plan), reversed(products), rolls, strict=True):
            chance = self._draw(step, product, roll)
            if kept is not None:
                kept[step.unknown] += chance
        if kept is not None:
            free = {step.unknown for step in plan}
            for v, x in self.state.items():
                if v not in free:
                    kept[v][self.every, x] += 1

    def _sum_out(self, plan: list[Step]) -> list[Floats | None]:
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
                whole = self.tables[number].transpose(axes)
                cut = whole[tuple([state[v] for v in held])].reshape((chains, *shape))
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

    def _draw(self, step: Step, product: Floats | None, roll: Floats) -> Floats:
        """Draw one unknown given those around it; returns its chances [chains, S]."""
        import numpy as np

        around: list[Any] = [self.state[u] for u in step.around]
        if product is None:
            chance: Floats = cast("Any", step.chance)[(0, slice(None), *around)]
        else:
            chance = cast("Any", product)[(self.every, slice(None), *around)]
            total = chance[:, 0] + chance[:, 1] if chance.shape[1] == 2 else chance.sum(axis=1)
            if not total.all():  # only while a start is looked for: all its states alike
                chance = np.where(total[:, None] > 0, chance, 1.0)
                total = np.where(total > 0, total, chance.shape[1])
            chance = chance / total[:, None]
        if chance.ndim == 1:
            chance = chance[None]
        if chance.shape[1] == 2:
            drawn = (roll >= chance[:, 0]).astype(np.int8)
        else:
            drawn = (roll[:, None] >= chance[:, :-1].cumsum(axis=1)).sum(axis=1, dtype=np.int8)
        self.state[step.unknown] = drawn
        return chance
