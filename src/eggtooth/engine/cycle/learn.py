"""The house's own rates from its finished seasons, shrunk to the priors of the facts.

How likely a finished season is does not depend on the house's rates but through the weights of its classes
and starts (see `marginal`). So the shifts of the growth traits' centres and the factors on their spreads are
found as within a season (see `together`), by Newton steps to the peak of the exact likelihood times a prior:
the same house, asked of whole years. A house whose females are alike in how they grow is taken to be alike
in size at ovulation and in its waits too, until these tell otherwise. Shares of what becomes of a season are
means of expected counts. The prior counts as a few seasons of its own, so that no season changes nothing and
many outweigh it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import NamedTuple

import numpy as np

from eggtooth.engine.cycle.bend import likeliest, noted_on, order_of
from eggtooth.engine.cycle.evidence import Evidence, evidence_of
from eggtooth.engine.cycle.fate_shares import learned_shares
from eggtooth.engine.cycle.grid import LEARN, Floats, Shape
from eggtooth.engine.cycle.marginal import GROWTH, TRAITS, UNITS, by_class
from eggtooth.engine.cycle.noted_shares import noted_shares
from eggtooth.engine.cycle.one_house import House
from eggtooth.engine.cycle.prior import PRIOR, PRIOR_SEASONS, YEARS_DIFFER_DAYS, Rates, Trait
from eggtooth.engine.cycle.scanning import as_scanned
from eggtooth.engine.entries import Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings

PRIOR_SPREAD_SEASONS = 4.0
"""Finished seasons the prior's spread of a wait weighs as much as (our choice)."""

MOST_SEASONS = 1000
ROUNDS = 3
"""How often growth, waits and shares are asked in turn: each hardly depends on the others."""

NAMES = (*GROWTH, "shed", "lay", "never", "small", "small_alone", "large")


class Told(NamedTuple):
    """What the finished seasons say of one trait: its new spread, the standard error of its centre, and how
    many fully seen seasons they are worth."""

    trait: Trait
    error: float
    worth: float


@dataclass(frozen=True, slots=True)
class Learned:
    """Rates learned; by name the standard error of each centre, how many fully seen seasons it is worth, and
    how many seasons told of it at all."""

    rates: Rates
    errors: dict[str, float]
    effective: dict[str, float]
    seasons: dict[str, int]


def learn(finished: Sequence[Evidence], shape: Shape = LEARN, prior: Rates = PRIOR) -> Learned:
    """Learn the house's rates from finished seasons, at most the latest 1,000.

    Returns the prior unchanged when there are none. Deterministic. Cost: about 3 ms and 250 kB a
    season.
    """
    kept = sorted((e for e in finished if _tells(e)), key=lambda e: (e.start, order_of(e)))[-MOST_SEASONS:]
    if not kept:
        return Learned(prior, _prior_errors(prior), dict.fromkeys(NAMES, 0.0), _counts(kept))
    noted, house = as_scanned(kept), House([prior] * len(kept), counts=1.0, one_year=False)
    rates = replace(prior, **noted_shares(kept, prior))  # type: ignore[arg-type]
    rates, peak = replace(rates, bend_mm=likeliest(noted, rates)), np.zeros(2 * TRAITS)
    for _ in range(ROUNDS):
        lattice = noted_on(noted, [rates] * len(noted), shape.bent(rates.bend_mm))
        peak, seen = house.peak(lattice, peak)
        alike = float(np.mean(peak[TRAITS:]))
        told = _growth(house, peak, house.left(-seen.bend.sum(axis=0)), prior) | _waits(kept, prior, alike)
        by = by_class(lattice, *house.spreads(len(noted), peak))
        rates, worth = learned_shares(noted, by, lattice.grid.fate, rates, prior)
        rates = replace(rates, **{name: t.trait for name, t in told.items()})  # type: ignore[arg-type]
        rates = replace(
            rates,
            whole_sd=_whole(kept, prior, alike),
            ovulation_sd=round(prior.ovulation_sd * math.exp(alike), 2),
        )
    worth |= {name: t.worth for name, t in told.items()}
    errors = {name: t.error for name, t in told.items()}
    errors["starts"] = _of_years(errors["starts"], kept)
    return Learned(replace(rates, seasons=worth["slow"]), errors, worth, _counts(kept))


def finished_seasons(seen: Sequence[History], settings: Settings) -> list[Evidence]:
    """The breeding years of these females that are over by their histories' day, where anything tells."""
    found = []
    for history in seen:
        end = settings.season_start(history.on) - timedelta(days=1)
        oldest = min((e.on for k in MILESTONES_AND_SCANS for e in history.all(k)[:1]), default=end)
        while end >= oldest:
            start = settings.season_start(end)
            evidence = evidence_of(history, start, end)
            found += [evidence] if _tells(evidence) else []
            end = start - timedelta(days=1)
    return found


MILESTONES_AND_SCANS = (Kind.SCAN, Kind.OVULATION, Kind.PRELAY_SHED, Kind.LAID)


def _tells(e: Evidence) -> bool:
    scanned = any(s.what[0].startswith("scan") for s in e.follicles)
    return scanned or e.met_male or any(d is not None for d in (e.ovulation, e.shed, e.laid))


def _counts(kept: Sequence[Evidence]) -> dict[str, int]:
    scanned = sum(any(s.what[0].startswith("scan") for s in e.follicles) for e in kept)
    both = {
        "shed": sum(e.ovulation is not None and e.shed is not None for e in kept),
        "lay": sum(e.shed is not None and e.laid is not None for e in kept),
    }
    met = sum(e.met_male for e in kept)
    fates = {"never": len(kept), "small": met, "small_alone": len(kept) - met, "large": len(kept)}
    return {"starts": len(kept), "slow": scanned, "fast": scanned, "turn": scanned, **both, **fates}


def _growth(house: House, peak: Floats, covariance: Floats, prior: Rates) -> dict[str, Told]:
    """The growth traits' spreads, from what is left of the prior's `covariance` (8, 8) of shifts.

    The error of a centre is its own. Its part in the spread of a season, and the seasons it is worth, are
    told with the other centres held: an early start and slow growth that only their sum tells apart make no
    date less sure.
    """
    mean, within = (row[0] for row in house.spreads(1, peak))
    error = np.sqrt(np.diag(covariance))[:TRAITS] * UNITS
    left = UNITS**2 / np.diag(np.linalg.inv(covariance[:TRAITS, :TRAITS]))
    told = {}
    for k, name in enumerate(GROWTH):
        before: Trait = getattr(prior, name)
        variance = float(within[k] ** 2 + left[k])
        worth = variance * max(1 / float(left[k]) - PRIOR_SEASONS / before.sd**2, 0.0)
        told[name] = Told(Trait(float(mean[k]), math.sqrt(variance), before.log), float(error[k]), worth)
    return told


def _of_years(error: float, kept: Sequence[Evidence]) -> float:
    """Years differ as a whole, so a start is never surer than its years."""
    return math.hypot(error, YEARS_DIFFER_DAYS / math.sqrt(len({e.start for e in kept})))


def _waits(kept: Sequence[Evidence], prior: Rates, alike: float) -> dict[str, Told]:
    """The two waits, from seasons in which both their ends were noted."""
    shed = [float(e.shed - e.ovulation) for e in kept if e.ovulation is not None and e.shed is not None]
    lay = [math.log(max(e.laid - e.shed, 1)) for e in kept if e.shed is not None and e.laid is not None]
    return {"shed": _noted(shed, prior.shed, alike), "lay": _noted(lay, prior.lay, alike)}


def _whole(kept: Sequence[Evidence], prior: Rates, alike: float) -> float:
    """Spread of ovulation to eggs, from seasons in which both were noted."""
    days = [float(e.laid - e.ovulation) for e in kept if e.ovulation is not None and e.laid is not None]
    return _noted(days, Trait(prior.shed.centre + prior.lay.centre, prior.whole_sd), alike).trait.sd


def _noted(values: Sequence[float], prior: Trait, alike: float) -> Told:
    """New centre and spread, the prior counting as seasons of its own, in a house whose females are as alike
    as their growth tells (`alike`, the logarithm of a factor on spreads)."""
    x = np.array(values, dtype=float)
    x = x[np.abs(x - prior.mean) < 4 * prior.sd]
    n, usual = len(x), prior.sd * math.exp(alike)
    mean = (PRIOR_SEASONS * prior.mean + float(x.sum())) / (PRIOR_SEASONS + n)
    moved = PRIOR_SEASONS * (mean - prior.mean) ** 2
    about = PRIOR_SPREAD_SEASONS * usual**2 + float(((x - mean) ** 2).sum()) + moved
    sd = math.sqrt(about / (PRIOR_SPREAD_SEASONS + n))
    return Told(Trait(mean, sd, prior.log), sd / math.sqrt(PRIOR_SEASONS + n), float(n))


def _prior_errors(prior: Rates) -> dict[str, float]:
    names = (*GROWTH, "shed", "lay")
    return {name: getattr(prior, name).sd / math.sqrt(PRIOR_SEASONS) for name in names}
