"""Posterior genotypes of a whole pedigree at one locus, exactly where its pieces fit a budget of table
cells."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from eggtooth.engine.pedigree.elimination import Factor, Scope, Sums, TooTangled, eliminate
from eggtooth.engine.pedigree.family import Family, Impossible, Posterior
from eggtooth.engine.pedigree.network import Network, build

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

BUDGET_CELLS = 1 << 25
"""Table cells one piece of a family may need before it is called too tangled for an exact answer."""


class Core(NamedTuple):
    """What was drawn of a sampled piece's core.

    `unknowns` [V]; `allowed` [S] of each; `worlds` [V, sweeps, chains], numbered among those; mean chances
    [chains, size] by unknown; the tables over it.
    """

    unknowns: tuple[int, ...]
    allowed: tuple[NDArray[np.bool_], ...]
    worlds: NDArray[np.int8]
    chances: Mapping[int, Floats]
    factors: tuple[Factor, ...]


class Sampled(NamedTuple):
    """A piece answered by sampling, chain by chain: odds [chains, S] by row, joint odds [chains, S, S] by
    pair number, odds [chains, candidates] by pick number; `core`: None when all could be summed."""

    p: Mapping[int, Floats]
    pairs: Mapping[int, Floats]
    picked: Mapping[int, Floats]
    core: Core | None = None


@dataclass(frozen=True)
class Piece:
    """The answer of one piece: odds of each unknown and of each pair of unknowns that share a table, or
    what was sampled."""

    unknowns: tuple[int, ...]
    single: Mapping[int, Floats]
    joint: Mapping[Scope, Floats]
    log_total: float
    sampled: Sampled | None = None


@dataclass(frozen=True)
class Tangle:
    """One piece of one family's network that is too tangled: its open rows and choices of sires."""

    network: Network
    unknowns: Sequence[int]
    factors: Sequence[Factor]

    @cached_property
    def sizes(self) -> dict[int, int]:
        """States of each unknown."""
        return {v: self.network.sizes[v] for v in self.unknowns}

    def answered(self, sampled: Sampled) -> Piece:
        """The piece as sampled."""
        return Piece(tuple(self.unknowns), {}, {}, float("nan"), sampled)


Sampler = Callable[[Tangle], Sampled]


def posterior(family: Family, budget: int = BUDGET_CELLS, sampler: Sampler | None = None) -> Posterior:
    """Posterior genotype of every row at one locus. Raises `Impossible`, and `TooTangled` without a
    `sampler`."""
    from eggtooth.engine.pedigree.unfolding import finish

    network = build(family)
    pieces, tangles = solve(network, budget)
    if tangles and sampler is None:
        raise TooTangled(budget + 1, budget)
    return finish(network, [*pieces, *(t.answered(sampler(t)) for t in tangles if sampler)])


def solve(
    network: Network, budget: int = BUDGET_CELLS, known: Sequence[Piece] = ()
) -> tuple[list[Piece], list[Tangle]]:
    """Sum every piece that fits the budget (table cells a piece); `known` pieces are taken as they are.

    Raises `Impossible`.
    """
    import numpy as np

    done = {int(network.label[piece.unknowns[0]]) for piece in known}
    asked = {label: rows for label, rows in network.pieces().items() if label not in done}
    wanted = np.zeros(len(network.label), dtype=bool)
    wanted[[v for rows in asked.values() for v in rows]] = True
    factors = network.factors(wanted)
    pieces, tangles = list(known), []
    for label, unknowns in asked.items():
        try:
            pieces.append(_summed(network, unknowns, factors[label], budget))
        except TooTangled:
            tangles.append(Tangle(network, unknowns, factors[label]))
    return pieces, tangles


def _summed(network: Network, unknowns: Sequence[int], factors: Sequence[Factor], budget: int) -> Piece:
    sums = _sums(network, unknowns, factors, budget)
    return Piece(tuple(unknowns), sums.single, sums.joint, sums.log_total)


def _sums(network: Network, unknowns: Sequence[int], factors: Sequence[Factor], budget: int) -> Sums:
    try:
        return eliminate({v: network.sizes[v] for v in unknowns}, factors, budget)
    except ZeroDivisionError:
        raise Impossible([v for v in unknowns if v < len(network.allowed)]) from None


def renumbered(piece: Piece, to: Sequence[int]) -> Piece:
    """The same piece with its rows numbered otherwise."""
    single = {to[v]: odds for v, odds in piece.single.items()}
    joint = {tuple(to[v] for v in scope): odds for scope, odds in piece.joint.items()}
    return replace(piece, unknowns=tuple(to[v] for v in piece.unknowns), single=single, joint=joint)


def stated(each: Floats) -> Floats:
    """Standard error [..., S] of figures [..., chains, S]: the spread of the chains over the root of their
    number, and half of what the two halves, of unlike starts, differ by."""
    import numpy as np

    half = each.shape[-2] // 2
    if not half:
        return np.zeros((*each.shape[:-2], each.shape[-1]))
    drift = (each[..., :half, :].mean(axis=-2) - each[..., half:, :].mean(axis=-2)) / 2
    return np.sqrt(each.var(axis=-2, ddof=1) / each.shape[-2] + drift**2)  # type: ignore[no-any-return]
