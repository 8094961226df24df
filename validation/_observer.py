"""The best possible observer of a simulated house: a large particle filter that knows the world's equations.

Its particles are whole seasons drawn from the world itself (each batch with its own year), weighted by the
chance of every entry under the world's own errors. Traits last through a season, so weighting whole seasons
is exact up to the number of particles. Days without an entry tell it nothing, except milestones: it knows how
often each is noted.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
from scipy.special import ndtr

from eggtooth.engine.entries import Entry, Kind, Sign
from eggtooth.engine.simulate.season import LAST_DAY, Fate, Seasons, draw_females, draw_seasons
from eggtooth.engine.simulate.sightings import (
    REFUSES,
    REFUSES_OFF_FOOD,
    SMALLEST_SEEN_MM,
    Watching,
    eats_again,
)
from eggtooth.engine.simulate.world import World

START = date(2025, 9, 1)
LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)
PER_YEAR = 2000
MM = np.arange(241) * 0.25
BEFORE = {Sign.GLOW: 0.7, Sign.BOWL_WRAPPING: 0.7, Sign.COOL_SEEKING: 0.8}


@dataclass(frozen=True)
class Particles:
    """Seasons drawn from a world: dates in season days, (N,), and diameters on scan days as bins."""

    world: World
    lays: np.ndarray
    ovulation: np.ndarray
    shed: np.ndarray
    laid: np.ndarray
    off_food: np.ndarray
    eats: np.ndarray
    mm25: np.ndarray
    ends: np.ndarray
    bins: dict[int, np.ndarray]
    order: np.ndarray


@lru_cache(maxsize=1)
def particles(world: World, n: int, scan_days: tuple[int, ...], seed: int = 999) -> Particles:
    """Draw `n` particles, sorted by the day they lay. Cost: about 0.1 ms and 60 bytes a particle."""
    rng = np.random.default_rng(seed)
    drawn = (
        draw_seasons(rng, world, draw_females(rng, PER_YEAR, world), START) for _ in range(-(-n // PER_YEAR))
    )
    return clouded(world, drawn, scan_days)


def clouded(world: World, drawn: Iterable[Seasons], scan_days: tuple[int, ...]) -> Particles:
    """Seasons as particles, sorted by the day they lay."""
    parts: dict[str, list[np.ndarray]] = {}
    bins: dict[int, list[np.ndarray]] = {d: [] for d in scan_days}
    for s in drawn:
        mm = s.diameter_mm(np.array(scan_days, dtype=float))
        for j, day in enumerate(scan_days):
            bins[day].append(np.where(np.isnan(mm[:, j]), 255, np.rint(mm[:, j] * 4)).astype(np.uint8))
        ends = np.where(np.isnan(s.ovulation), s.mm25 + 15, s.ovulation)
        found = {
            "lays": s.fate == Fate.LAYS, "ovulation": s.ovulation, "shed": s.prelay_shed, "laid": s.laid,
            "off_food": s.off_food, "eats": eats_again(s), "mm25": s.mm25, "ends": ends,
        }  # fmt: skip
        for name, values in found.items():
            parts.setdefault(name, []).append(np.nan_to_num(values.astype(np.float32), nan=9999))
    joined = {k: np.concatenate(v) for k, v in parts.items()}
    order = np.argsort(joined["laid"], kind="stable")
    return Particles(
        world,
        order=order,
        bins={d: np.concatenate(v)[order] for d, v in bins.items()},
        **{k: v[order] for k, v in joined.items()},
    )


@dataclass(frozen=True)
class Belief:
    """Quantiles of the laid date in season days, chance that she lays, effective number of particles."""

    laid: np.ndarray
    p_lays: float
    effective: float


def believe(cloud: Particles, entries: Sequence[Entry], until: int, watching: Watching) -> Belief:
    """What the best observer believes on day `until`."""
    if noted := milestone_noted(entries):
        return _after_milestone(cloud, noted, until)
    log = log_weights(cloud, entries, until, watching)
    weight = np.exp(log - log.max())
    lays = weight * cloud.lays
    return Belief(
        quantiles_of(np.floor(cloud.laid), lays),
        float(lays.sum() / weight.sum()),
        float(weight.sum() ** 2 / (weight**2).sum()),
    )


def milestone_noted(entries: Sequence[Entry]) -> dict[Kind, int]:
    """Season days of the ovulation and the shed noted."""
    return {k: _days(entries, k)[-1] for k in (Kind.OVULATION, Kind.PRELAY_SHED) if _days(entries, k)}


def _after_milestone(cloud: Particles, noted: dict[Kind, int], until: int) -> Belief:
    """Once ovulation or shed was seen, growth tells nothing more: the waits do."""
    kept = cloud.lays > 0
    ovulated, shed = noted.get(Kind.OVULATION), noted.get(Kind.PRELAY_SHED)
    wait = cloud.laid - (cloud.ovulation if shed is None else cloud.shed)
    weight = kept * 1.0
    if shed is not None and ovulated is not None:
        weight *= np.abs(cloud.shed - cloud.ovulation - (shed - ovulated)) < 1
    laid = wait + (ovulated if shed is None else shed) + 0.5
    weight *= np.where(laid <= until, cloud.world.missed_share, 1.0)
    if shed is None:
        shed_on = ovulated + cloud.shed - cloud.ovulation + 0.5
        weight *= np.where(shed_on <= until, 1 - 0.85 * (1 - cloud.world.missed_share), 1.0)
    order = np.argsort(laid, kind="stable")
    return Belief(quantiles_of(np.floor(laid[order]), weight[order]), 1.0, float(weight.sum()))


def log_weights(cloud: Particles, entries: Sequence[Entry], until: int, watching: Watching) -> np.ndarray:
    log = np.zeros(len(cloud.laid), dtype=np.float32)
    kept = 1 - cloud.world.missed_share
    for dates, share in (
        (cloud.ovulation, watching.ovulation_seen),
        (cloud.shed, watching.shed_seen),
        (cloud.laid, 1.0),
    ):
        log += np.where(dates <= until, np.log(1 - share * kept + 1e-12), 0)
    for entry in entries:
        if entry.kind is Kind.SCAN:
            log += _scan(cloud.world, float(entry.value or 0))[cloud.bins[_day(entry)]]
        elif entry.kind is Kind.SIGN:
            log += _sign(cloud, entry.detail, _day(entry))
    log += _meals(cloud, entries)
    return log


@lru_cache(maxsize=512)
def _scan(world: World, read: float) -> np.ndarray:
    """Log chance of a reading by diameter bin; 255 stands for ovulated, when nobody scans."""
    found = np.zeros(241)
    for share, sd in (
        (1 - world.bad_scan_share, world.scan_error_mm),
        (world.bad_scan_share, world.bad_scan_mm),
    ):
        if read == 0:
            found += share * ndtr((SMALLEST_SEEN_MM - 0.25 - MM) / sd)
        else:
            found += share * (ndtr((read + 0.25 - MM) / sd) - ndtr((read - 0.25 - MM) / sd))
    table = np.full(256, -60.0, dtype=np.float32)
    table[:241] = np.log(found + 1e-26)
    return table


def _sign(cloud: Particles, sign: object, day: int) -> np.ndarray:
    if sign in BEFORE:
        length = np.maximum(cloud.ends - cloud.mm25, 1)
        return np.where((cloud.mm25 < day + 1) & (cloud.ends > day), -np.log(length), -60)
    if sign is Sign.HEAT_SEEKING:
        return np.where((cloud.ovulation + 1 < day + 1) & (cloud.ovulation + 25 > day), 0.0, -60)
    return np.where(np.floor(cloud.ovulation) == day, 0.0, -60)


def _meals(cloud: Particles, entries: Sequence[Entry]) -> np.ndarray:
    """Log chance of the meals: those of her days off food, and the others.

    Day `d` of the running sum holds what the meals before day `d` say for being off food.
    """
    off, whole = np.zeros(LAST_DAY + 1), 0.0
    for entry in entries:
        if entry.kind is Kind.MEAL:
            no = entry.value == 0
            on, fasting = (np.log(p if no else 1 - p) for p in (REFUSES, REFUSES_OFF_FOOD))
            whole += on
            off[_day(entry) + 1 :] += fasting - on
    first, last = (np.ceil(np.clip(d, 0, LAST_DAY)).astype(int) for d in (cloud.off_food, cloud.eats))
    return (whole + off[last] - off[first]).astype(np.float32)


def quantiles_of(values: np.ndarray, weight: np.ndarray) -> np.ndarray:
    upto = np.cumsum(weight, dtype=float)
    at = np.searchsorted(upto, np.array(LEVELS) * upto[-1])
    return values[np.minimum(at, len(values) - 1)]


def _day(entry: Entry) -> int:
    return (entry.on - START).days


def _days(entries: Sequence[Entry], kind: Kind) -> list[int]:
    return [_day(e) for e in entries if e.kind is kind]
