"""What a house has learned, as figures a breeder can read: prior, now, how sure, from how many seasons."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from eggtooth.engine.cycle.fate_shares import PRIOR_FATES
from eggtooth.engine.cycle.grid import FROM_MM, MM, calibration, curves
from eggtooth.engine.cycle.learn import PRIOR_SPREAD_SEASONS, Learned, learn
from eggtooth.engine.cycle.prior import OVULATION_MM, PRIOR, Rates, Trait
from eggtooth.engine.facts import biology
from eggtooth.engine.spans import Z90
from eggtooth.engine.wording import say


@dataclass(frozen=True, slots=True)
class Parameter:
    """One figure: its value by the facts and now, each with a 90 % interval, and the seasons it rests on."""

    name: str
    unit: str
    prior: float
    now: float
    n: int
    prior_90: tuple[float, float]
    now_90: tuple[float, float]


def days_of_median(rates: Rates) -> tuple[float, float]:
    """Days the median female takes from 12 to 25 mm, and from 25 mm to ovulation."""
    at_slow, at_fast = calibration(rates.bend_mm)
    one = [np.array([t.centre]) for t in (rates.slow, rates.fast, rates.turn)]
    _, reach = curves(one[0] * at_slow, one[1] * at_fast, one[2], np.zeros(1), rates.bend_mm)
    at_25, at_ovulation = (float(np.interp(mm, MM, reach[0])) for mm in (25.0, OVULATION_MM.mean))
    return at_25, at_ovulation - at_25


def parameters(learned: Learned, prior: Rates = PRIOR) -> list[Parameter]:
    """Every figure learned, in the order of the season."""
    from_nothing = learn((), prior=prior)
    told = [_centre(*row, learned, from_nothing) for row in _CENTRES]
    return told + [_spread(*row, learned, from_nothing) for row in _SPREADS] + _shares(learned, prior)


def figures(rates: Rates) -> list[tuple[str, float]]:
    """The same figures of any rates, by name, without how sure they are."""
    told = [(name, read(rates)) for name, _, _, read in _CENTRES]
    told += [(name, getattr(rates, key).sd) for name, _, key in _SPREADS]
    return told + [(name, getattr(rates, key)) for name, key in _SHARES]


def _per_day(which: int) -> Callable[[Rates], float]:
    mm = (biology.HINGE.value - FROM_MM, OVULATION_MM.mean - biology.HINGE.value)[which]
    return lambda rates: mm / days_of_median(rates)[which]


_CENTRES: tuple[tuple[str, str, str, Callable[[Rates], float]], ...] = (
    (say("day she reaches 12 mm"), "days after the breeding year turns", "starts", lambda r: r.starts.centre),
    (say("growth from 12 to 25 mm"), "mm/day", "slow", _per_day(0)),
    (say("growth from 25 mm to ovulation"), "mm/day", "fast", _per_day(1)),
    (say("slow growth turns to fast at"), "mm", "turn", lambda r: r.turn.centre),
    (say("ovulation to pre-lay shed"), "days", "shed", lambda r: r.shed.centre),
    (say("pre-lay shed to eggs"), "days", "lay", lambda r: r.lay.centre),
)
_SPREADS = (
    (say("day she reaches 12 mm, between females"), "days (sd)", "starts"),
    (say("growth from 12 to 25 mm, between females"), "share (sd)", "slow"),
    (say("growth from 25 mm, between females"), "share (sd)", "fast"),
    (say("turn, between females"), "mm (sd)", "turn"),
    (say("ovulation to pre-lay shed, between females"), "days (sd)", "shed"),
    (say("pre-lay shed to eggs, between females"), "share (sd)", "lay"),
)


def _centre(
    name: str, unit: str, key: str, read: Callable[[Rates], float], learned: Learned, from_nothing: Learned
) -> Parameter:
    before, now = (_interval(told, key, read) for told in (from_nothing, learned))
    return Parameter(name, unit, before[1], now[1], learned.seasons[key], before[::2], now[::2])


def _interval(learned: Learned, key: str, read: Callable[[Rates], float]) -> tuple[float, float, float]:
    """The figure with its trait moved down and up by 1.645 standard errors, and as it is in the middle."""
    rates, error = learned.rates, learned.errors[key]
    moved = [_with_mean(rates, key, z * error) for z in (-Z90, 0.0, Z90)]
    low, now, high = (read(r) for r in moved)
    return min(low, high), now, max(low, high)


def _with_mean(rates: Rates, key: str, by: float) -> Rates:
    trait: Trait = getattr(rates, key)
    changed = {key: trait._replace(mean=trait.mean + by)}
    return replace(rates, **changed)  # type: ignore[arg-type]


def _spread(name: str, unit: str, key: str, learned: Learned, from_nothing: Learned) -> Parameter:
    def at(told: Learned) -> tuple[float, float, float]:
        sd = getattr(told.rates, key).sd
        of = PRIOR_SPREAD_SEASONS + told.effective[key]
        off = Z90 / math.sqrt(2 * of)
        return sd * math.exp(-off), sd, sd * math.exp(off)

    before, now = at(from_nothing), at(learned)
    return Parameter(name, unit, before[1], now[1], learned.seasons[key], before[::2], now[::2])


_SHARES = (
    (say("no follicles grow"), "never"),
    (say("reabsorbed below 20 mm, with a male"), "small"),
    (say("reabsorbed below 20 mm, without a male"), "small_alone"),
    (say("reabsorbed from 20 mm on"), "large"),
)


def _shares(learned: Learned, prior: Rates) -> list[Parameter]:
    from scipy.special import betaincinv

    def span(share: float, of: float) -> tuple[float, float]:
        a, b = share * of, (1 - share) * of
        return float(betaincinv(a, b, 0.05)), float(betaincinv(a, b, 0.95))

    told = []
    for name, key in _SHARES:
        before, now, n = getattr(prior, key), getattr(learned.rates, key), learned.seasons[key]
        spans = span(before, PRIOR_FATES), span(now, PRIOR_FATES + learned.effective[key])
        told.append(Parameter(name, "share", before, now, n, *spans))
    return told
