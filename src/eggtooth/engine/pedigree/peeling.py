"""Posterior genotypes of a whole pedigree at one locus, exactly where its pieces fit a budget of table
cells."""

from __future__ import annotations

from collections.abc import Callable, Collection

from eggtooth.engine.pedigree.elimination import TooTangled, tree_of
from eggtooth.engine.pedigree.family import Family, Impossible, Posterior
from eggtooth.engine.pedigree.network import Network, build
from eggtooth.engine.pedigree.pieces import Piece, Tangle, answered

BUDGET_CELLS = 1 << 25
"""Table cells one piece of a family may need before it is called too tangled for an exact answer."""

Sampler = Callable[[Tangle], Piece]


def posterior(family: Family, budget: int = BUDGET_CELLS, sampler: Sampler | None = None) -> Posterior:
    """Posterior genotype of every row at one locus. Raises `Impossible`, and `TooTangled` without a
    `sampler`."""
    from eggtooth.engine.pedigree.unfolding import finish

    network = build(family)
    pieces, tangles = solve(network, budget)
    if tangles and sampler is None:
        raise TooTangled(budget + 1, budget)
    return finish(network, [*pieces, *(sampler(t) for t in tangles if sampler)])


def solve(
    network: Network, budget: int = BUDGET_CELLS, known: Collection[int] = ()
) -> tuple[list[Piece], list[Tangle]]:
    """Sum every piece that fits the budget (table cells a piece), but for those whose labels are `known`.

    Raises `Impossible`.
    """
    import numpy as np

    asked = {label: rows for label, rows in network.pieces().items() if label not in known}
    wanted = np.zeros(len(network.label), dtype=bool)
    wanted[[v for rows in asked.values() for v in rows]] = True
    factors = network.by_piece(network.factors(wanted))
    pieces, tangles = [], []
    for label, unknowns in asked.items():
        tangle = Tangle(network, unknowns, factors[label])
        try:
            pieces.append(summed(tangle, budget))
        except TooTangled:
            tangles.append(tangle)
    return pieces, tangles


def summed(tangle: Tangle, budget: int) -> Piece:
    """One piece, exactly. Raises `TooTangled`, `Impossible`."""
    try:
        tree = tree_of(tangle.sizes, tangle.factors, budget)
    except ZeroDivisionError:
        raise Impossible([v for v in tangle.unknowns if v < len(tangle.network.open)]) from None
    return answered(tangle.network, tangle.unknowns, tree)
