"""How many of a clutch hatch: a whole distribution from good eggs, candling and the temperatures they had."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from eggtooth.engine.eggs.incubation import Warmth
from eggtooth.engine.facts import biology
from eggtooth.engine.facts.fact import Beta

NODES = 40
CANDLED_FROM_DAYS = 10


@dataclass(frozen=True, slots=True)
class Hatch:
    """Chance of each number of hatchlings, `p[k]` for k = 0 ... eggs, summing to one."""

    p: tuple[float, ...]

    @property
    def mean(self) -> float:
        """Expected number."""
        return sum(k * p for k, p in enumerate(self.p))

    def quantile(self, level: float) -> int:
        """Least number with at least this chance of no more than it."""
        return int(np.searchsorted(np.cumsum(self.p), level - 1e-12))


def temperature_share(celsius: float) -> float:
    """Share of the usual hatching success at a constant temperature, by straight lines through the facts'
    table.
    """
    table = biology.HATCH_BY_TEMPERATURE
    return float(np.interp(celsius, [c for c, _ in table], [s for _, s in table]))


def warm_share(warm: Warmth, days: int = 60) -> float:
    """The same for a clutch: mean share over its days, so that a short spike costs little."""
    return float(np.mean([temperature_share(c) for c in warm.celsius[:days]]))


def hatch_of(eggs: int, share: float = 1.0, candled: bool = False) -> Hatch:
    """How many of `eggs` good-looking eggs hatch; `candled`: seen to be fertile, some ten days in.

    Each clutch has its own chance per egg, Beta(17, 3) (common practice, 85 to 95 % of good eggs) times
    `share`; before candling also its own fertility, Beta(18, 2), and one clutch in twenty is infertile
    altogether. Raises `ValueError` for a negative count. Cost: eggs x 40 x (1 or 40).
    """
    if eggs < 0:
        raise ValueError(f"{eggs} eggs cannot hatch")
    levels = (np.arange(NODES) + 0.5) / NODES
    chance = share * _quantiles(biology.HATCHES.varies, levels)
    if not candled:
        chance = np.outer(chance, _quantiles(biology.FERTILE_PER_EGG.varies, levels)).ravel()
    p = _binomial(eggs, np.clip(chance, 0, 1)).mean(axis=0)
    if not candled:
        fails = biology.WHOLE_CLUTCH_FAILS.value
        p = (1 - fails) * p
        p[0] += fails
    return Hatch(tuple(map(float, p)))


def _quantiles(spread: object, levels: np.ndarray) -> np.ndarray:
    from scipy.special import betaincinv

    assert isinstance(spread, Beta)
    return np.asarray(betaincinv(spread.a, spread.b, levels))


def _binomial(n: int, chance: np.ndarray) -> np.ndarray:
    """Binomial chances of 0 ... n for each chance, [chances, n + 1], one egg after another."""
    p = np.zeros((len(chance), n + 1))
    p[:, 0] = 1.0
    for _ in range(n):
        p[:, 1:] = p[:, 1:] * (1 - chance[:, None]) + p[:, :-1] * chance[:, None]
        p[:, 0] *= 1 - chance
    return p
