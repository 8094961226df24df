"""How likely what was noted of each female is under a house's own rates: value, slope and bend, exactly.

The lattice's likelihood does not depend on the rates; they only weigh its classes and starts, and a weight is
the share of a normal spread nearest to a level. So the likelihood and its first two derivatives, by each
trait's shift and by the logarithm of its spread, are sums over the lattice of shares and their derivatives.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.grid import Floats, Grid
from eggtooth.engine.cycle.milestones import backward, sightings_of, waits_of
from eggtooth.engine.cycle.prior import FAST, SLOW, STARTS, TURN, Rates
from eggtooth.engine.cycle.smoothing import Cells, exit_shares, fates, joined, noted_any, unweighed
from eggtooth.engine.normal import cdf

GROWTH = ("starts", "slow", "turn", "fast")
"""The traits a house may differ in, in the order of all arrays here."""

TRAITS = len(GROWTH)
UNITS: Floats = np.array([STARTS.sd, SLOW.sd, TURN.sd, FAST.sd])
"""Shifts are told in the facts' own spreads."""

SHARE, BY_SHIFT, BY_SPREAD, BY_SHIFTS, BY_BOTH, BY_SPREADS = range(6)
LEAST = 1e-30


@dataclass(frozen=True)
class Lattice:
    """Likelihood of all that was noted by class and start, (F, C, S), but for a factor a female; `log_scale`
    (F,) that factor's logarithm, `classes` (F, C): prior weight of a class but for its levels."""

    grid: Grid
    cells: Cells
    log_scale: Floats
    classes: Floats


@dataclass(frozen=True)
class Likelihood:
    """By female: logarithm (F,) but for a constant, slope (F, 8) and bend (F, 8, 8) by the four shifts, then
    the four logarithms of spreads."""

    value: Floats
    slope: Floats
    bend: Floats


def lattice_of(found: Sequence[Evidence], logs: Cells, grid: Grid, rates: Sequence[Rates]) -> Lattice:
    """Join the lattice of sightings, (F, C, S), with the milestones; `rates` of each female."""
    ahead = unweighed(logs, grid, rates[0].ovulation_sd)
    back = backward(sightings_of(found, rates[0]), waits_of(rates[0]))
    cells = joined(ahead, grid, back.ovulation, noted_any(found))
    chances = np.array([fates(e, r) for e, r in zip(found, rates, strict=True)])
    return Lattice(grid, cells, ahead.log_scale, chances[:, grid.fate] * exit_shares(grid.shape))


def shares(at: Floats, mean: Floats, sd: Floats, unit: float) -> Floats:
    """Share of each spread nearest to each level, and its derivatives: (6, F, levels).

    `at` are the levels, `mean` and `sd` the spread of each female; a shift of one moves it by `unit`.
    """
    z = ((at[1:] + at[:-1]) / 2 - mean[:, None]) / sd[:, None]
    density, by = np.exp(-z * z / 2) / np.sqrt(2 * np.pi), (unit / sd)[:, None]
    at_edges = (
        cdf(z),
        -by * density,
        -z * density,
        -(by**2) * z * density,
        by * (1 - z**2) * density,
        (z - z**3) * density,
    )
    found = np.array([np.pad(x, ((0, 0), (1, 1))) for x in at_edges])
    found[SHARE, :, -1] = 1
    between: Floats = np.diff(found, axis=2)
    between[SHARE] = np.maximum(between[SHARE], 1e-12)
    return between


def _by_class(grid: Grid, mean: Floats, sd: Floats) -> list[Floats]:
    """Shares of slow, turn and fast by class, each (6, F, C); one where a class has no level."""
    shape, lays, fails = grid.shape, np.arange(grid.lays), np.flatnonzero(~np.isnan(grid.exit_mm))
    plans = (
        (1, SLOW, ((shape.slow_z, lays, 0), (shape.fading_z, fails, 0))),
        (2, TURN, ((shape.turn_z, lays, 1),)),
        (3, FAST, ((shape.fast_z, lays, 2),)),
    )
    found = []
    for k, trait, parts in plans:
        table = np.zeros((6, len(mean), len(grid.fate)))
        table[SHARE] = 1
        for levels, who, column in parts:
            at = trait.mean + trait.sd * np.array(levels)
            told = shares(at, mean[:, k], sd[:, k], float(UNITS[k]))
            table[:, :, who] = told[:, :, grid.levels[who, column]]
        found.append(table)
    return found


def likelihood(lattice: Lattice, mean: Floats, sd: Floats) -> Likelihood:
    """Of each female under her own spreads, `mean` and `sd` (F, 4) in the order of `GROWTH`.

    Cost: six products of the lattice with a vector of its starts.
    """
    told, traits = _told(lattice, mean, sd), _by_class(lattice.grid, mean, sd)
    weight = _weights(lattice, traits)
    whole = (weight * told[:, :, SHARE]).sum(axis=1)
    weight /= np.maximum(whole, LEAST)[:, None]
    slope, raw = _derivatives(weight[:, :, None] * told, [t[1:] / t[SHARE] for t in traits])
    bend = raw - slope[:, :, None] * slope[:, None, :]
    return Likelihood(lattice.log_scale + np.log(np.maximum(whole, LEAST)), slope, bend)


def by_class(lattice: Lattice, mean: Floats, sd: Floats) -> Floats:
    """The same likelihood class by class, (F, C), but for the factor of each female."""
    by_start = shares(lattice.grid.starts.astype(float), mean[:, 0], sd[:, 0], 1.0)[SHARE]
    told = np.matmul(lattice.cells, by_start[:, :, None].astype(lattice.cells.dtype))[:, :, 0]
    found: Floats = _weights(lattice, _by_class(lattice.grid, mean, sd)) * told
    return found


def _told(lattice: Lattice, mean: Floats, sd: Floats) -> Floats:
    """Likelihood by class with the starts summed out, and its derivatives, (F, C, 6)."""
    by_start = shares(lattice.grid.starts.astype(float), mean[:, 0], sd[:, 0], float(UNITS[0]))
    found: Floats = np.matmul(lattice.cells, by_start.transpose(1, 2, 0).astype(lattice.cells.dtype))
    return found.astype(float)


def _weights(lattice: Lattice, traits: Sequence[Floats]) -> Floats:
    found: Floats = lattice.classes * traits[0][SHARE] * traits[1][SHARE] * traits[2][SHARE]
    return found


def _derivatives(told: Floats, traits: Sequence[Floats]) -> tuple[Floats, Floats]:
    """Slope (F, 8) and second derivatives (F, 8, 8) of the likelihood over itself.

    `told` (F, C, 6): posterior weight by class, then with the starts' derivatives; `traits`: (5, F, C) of
    slow, turn and fast, each over its share.
    """
    n, here = len(told), told[:, :, SHARE]
    slope, raw = np.zeros((n, 2 * TRAITS)), np.zeros((n, 2 * TRAITS, 2 * TRAITS))
    alone = [told[:, :, 1:].sum(axis=1).T, *((here * t).sum(axis=2) for t in traits)]
    for k, (shift, spread, shifts, both, spreads) in enumerate(alone):
        slope[:, k], slope[:, TRAITS + k] = shift, spread
        raw[:, k, k], raw[:, TRAITS + k, TRAITS + k] = shifts, spreads
        raw[:, k, TRAITS + k] = raw[:, TRAITS + k, k] = both
    first = [(k, p, here * t[p]) for k, t in enumerate(traits, 1) for p in (0, 1)]
    for k, p, weighed in first:
        pairs = [(0, q, weighed * told[:, :, 1 + q] / np.maximum(here, LEAST)) for q in (0, 1)]
        pairs += [(m, q, weighed * t[q]) for m, t in enumerate(traits, 1) if m > k for q in (0, 1)]
        for m, q, product in pairs:
            a, b = p * TRAITS + k, q * TRAITS + m
            raw[:, a, b] = raw[:, b, a] = product.sum(axis=1)
    return slope, raw
