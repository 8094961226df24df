"""The hidden truth of female seasons: many females at once, alike in kind and each her own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import IntEnum

import numpy as np

from eggtooth.engine.simulate import follicle
from eggtooth.engine.simulate.follicle import Floats
from eggtooth.engine.simulate.world import Varying, World

FIRST_DAY, LAST_DAY = -90, 520
DAYS: Floats = np.arange(FIRST_DAY, LAST_DAY + 1, dtype=float)
"""Days of a season (0 = 1 September) over which the room's warmth is laid out."""

PAIRING_MM = 12.0
DECIDES_MM = 18.0
"""A follicle that no male's presence has reached by this size mostly goes back (our choice)."""

LOG_TRAITS = ("slow", "fast", "width_mm", "lay_days", "mass_g")
TRAITS = (*LOG_TRAITS, "turn_mm", "ovulation_mm", "rest_mm", "start", "shed_days", "clutch_share", "egg_g")


class Fate(IntEnum):
    """How a season ends for a female."""

    NEVER_STARTS = 0
    REABSORBS_SMALL = 1
    REABSORBS_LARGE = 2
    LAYS = 3


@dataclass(frozen=True, slots=True)
class Females:
    """Lasting traits: standard normal deviates per trait, shape (females,), and proneness to reabsorb."""

    deviates: dict[str, Floats]
    frailty: Floats

    def __len__(self) -> int:
        return len(self.frailty)

    def some(self, which: np.ndarray) -> Females:
        """A few of them."""
        return Females({k: v[which] for k, v in self.deviates.items()}, self.frailty[which])


@dataclass(frozen=True, slots=True)
class Luck:
    """One year's chances of the females, drawn before anybody knows who will meet a male."""

    deviates: dict[str, Floats]
    starts: Floats
    small: Floats
    large: Floats
    where: Floats
    eggs: Floats
    off_food: Floats
    incubation: Floats
    incubator: Floats
    common: float
    room_c: Floats

    def some(self, which: np.ndarray) -> Luck:
        """The same year for a few of the females."""
        own = ("starts", "small", "large", "where", "eggs", "off_food", "incubation", "incubator")
        deviates = {k: v[which] for k, v in self.deviates.items()}
        return replace(self, deviates=deviates, **{name: getattr(self, name)[which] for name in own})


@dataclass(frozen=True, slots=True)
class Seasons:
    """True dates of one year's seasons, in days since `start`, shape (females,); NaN where it never comes.

    `warm` is the room's clock: growth days passed on each of `DAYS`. `eggs` counts all eggs, slugs or good.
    """

    start: date
    world: World
    exposed: bool
    fate: np.ndarray
    leaves_rest: Floats
    mm12: Floats
    decides: Floats
    mm25: Floats
    off_food: Floats
    reabsorbs: Floats
    ovulation: Floats
    prelay_shed: Floats
    laid: Floats
    pip: Floats
    eggs: np.ndarray
    mass_g: Floats
    ovulation_mm: Floats
    rest_mm: Floats
    incubation_residual: Floats
    warm: Floats
    fails_at: Floats
    elapsed: Floats

    def __len__(self) -> int:
        return len(self.fate)

    def on(self, day: float) -> date:
        """The date of a season day."""
        return self.start + timedelta(days=int(np.floor(day)))

    def diameter_mm(self, days: Floats) -> Floats:
        """True mean diameter of the largest follicles, shape (females, days); NaN once she has ovulated."""
        grown = np.interp(days, DAYS, self.warm)[None, :] - self.leaves_rest[:, None]
        mm = follicle.diameter_mm(np.nan_to_num(grown, nan=-1.0), self.elapsed, self.rest_mm, self.fails_at)
        return np.where(days[None, :] >= self._ovulated()[:, None], np.nan, mm)

    def _ovulated(self) -> Floats:
        return np.where(np.isnan(self.ovulation), np.inf, self.ovulation)


def draw_females(rng: np.random.Generator, n: int, world: World) -> Females:
    """Lasting traits of `n` females."""
    deviates = {name: rng.standard_normal(n) for name in TRAITS}
    return Females(deviates, rng.normal(0, world.frailty_sd, n))


def draw_luck(rng: np.random.Generator, n: int, world: World) -> Luck:
    """The chances of one year for `n` females and for the house they share."""
    starts, small, large, where = (rng.random(n) for _ in range(4))
    eggs, off_food, incubation, incubator = (rng.standard_normal(n) for _ in range(4))
    common = float(rng.normal(0, world.start_common_sd))
    deviates = {name: rng.standard_normal(n) for name in TRAITS}
    return Luck(
        deviates,
        starts,
        small,
        large,
        where,
        eggs,
        off_food,
        incubation,
        incubator,
        common,
        _room(rng, world),
    )


def _room(rng: np.random.Generator, world: World) -> Floats:
    """Degrees above or below the room's mean: cooler in midwinter (day 120), wandering from day to day."""
    wander = np.empty(len(DAYS))
    shocks = rng.normal(0, world.room_sd_c * np.sqrt(1 - 0.9**2), len(DAYS))
    now = 0.0
    for i, shock in enumerate(shocks):
        wander[i] = now = 0.9 * now + shock
    season: Floats = -world.winter_drop_c * np.cos((DAYS - 120) * 2 * np.pi / 365.25) + wander
    return season


def trait_of(name: str, world: World, females: Females, luck: Luck) -> Floats:
    varying: Varying = getattr(world, name)
    spread = varying.between * females.deviates[name] + varying.within * luck.deviates[name]
    return varying.centre * np.exp(spread) if name in LOG_TRAITS else varying.centre + spread


def draw_seasons(
    rng: np.random.Generator, world: World, females: Females, start: date, exposed: bool = True
) -> Seasons:
    """One year of seasons. Cost: about 0.1 ms a female. `exposed`: they meet males in time."""
    return seasons_from(world, females, draw_luck(rng, len(females), world), start, exposed)


def seasons_from(world: World, females: Females, luck: Luck, start: date, exposed: bool) -> Seasons:
    """The seasons that follow from traits and luck: no chance left, so two policies may share one luck."""
    t = {name: trait_of(name, world, females, luck) for name in TRAITS}
    t["rest_mm"] = np.clip(t["rest_mm"], 2.0, 4.9)
    t["ovulation_mm"] = np.clip(t["ovulation_mm"], 35.0, 54.0)
    elapsed = follicle.elapsed_days(t["slow"], t["fast"], t["turn_mm"], t["width_mm"], t["rest_mm"])
    warm = np.cumsum(np.exp(world.warmth_per_c * luck.room_c)) + FIRST_DAY
    fate = _fate(world, females, luck, exposed)

    def growth_to(mm: Floats | float) -> Floats:
        return follicle.days_to(np.asarray(mm, dtype=float), elapsed, t["rest_mm"])

    to_12 = growth_to(PAIRING_MM)
    begun = np.where(fate == Fate.NEVER_STARTS, np.nan, 1.0)
    leaves = (np.interp(t["start"] + luck.common, DAYS, warm) - to_12) * begun
    fails_mm = _fails_mm(world, females, fate, luck)
    fails_at = growth_to(np.nan_to_num(fails_mm, nan=20.0)) + 0 * fails_mm

    def day_of(grown: Floats, unless_failed: bool = True) -> Floats:
        reached = np.where(grown > fails_at, np.nan, grown) if unless_failed else grown
        return np.asarray(np.interp(leaves + reached, warm, DAYS) + 0 * (leaves + reached))

    ovulates_at = np.where(fate == Fate.LAYS, growth_to(t["ovulation_mm"]), np.nan)
    shed_at, laid_at = _after_ovulation(world, t, luck, ovulates_at)
    laid = day_of(laid_at)
    residual = np.exp(world.incubation_cv * luck.incubation)
    heat = world.incubator_sd_c * luck.incubator
    return Seasons(
        start=start,
        world=world,
        exposed=exposed,
        fate=fate,
        leaves_rest=leaves,
        mm12=day_of(to_12),
        decides=day_of(growth_to(DECIDES_MM), unless_failed=False),
        mm25=day_of(growth_to(25.0)),
        off_food=day_of(growth_to(np.clip(25 + 2.5 * luck.off_food, 18, t["ovulation_mm"]))),
        reabsorbs=day_of(fails_at, unless_failed=False),
        ovulation=day_of(ovulates_at),
        prelay_shed=day_of(shed_at),
        laid=laid,
        pip=laid + incubation_days(world, 31.5 + heat) * residual,
        eggs=_eggs(t, luck),
        mass_g=t["mass_g"],
        ovulation_mm=t["ovulation_mm"],
        rest_mm=t["rest_mm"],
        incubation_residual=residual,
        warm=warm,
        fails_at=fails_at,
        elapsed=elapsed,
    )


def incubation_days(world: World, celsius: Floats | float) -> Floats:
    """Days from laid to pip at a steady temperature in this world."""
    return np.asarray(world.incubation_days * np.exp(-world.incubation_slope * (np.asarray(celsius) - 31.5)))


def _fate(world: World, females: Females, luck: Luck, exposed: bool) -> np.ndarray:
    """Who never starts, reabsorbs early or late, or lays."""
    small = world.reabsorbs_small if exposed else world.reabsorbs_small_alone
    fate = np.full(len(females), int(Fate.LAYS))
    fate[luck.large < _prone(world.reabsorbs_large, females.frailty)] = Fate.REABSORBS_LARGE
    fate[luck.small < _prone(small, females.frailty)] = Fate.REABSORBS_SMALL
    fate[luck.starts > world.starts_share] = Fate.NEVER_STARTS
    return fate


def _prone(share: float, frailty: Floats) -> Floats:
    """A share moved by each female's proneness, on the log-odds scale; 0 and 1 stay."""
    with np.errstate(divide="ignore"):
        odds = np.log(share) - np.log1p(-share)
    return np.asarray(1 / (1 + np.exp(-(odds + frailty))))


def _fails_mm(world: World, females: Females, fate: np.ndarray, luck: Luck) -> Floats:
    """Diameter at which reabsorption sets in; without a male she goes on to `DECIDES_MM`."""
    mm = np.full(len(fate), np.nan)
    anyway = luck.small < _prone(world.reabsorbs_small, females.frailty)
    small, large = fate == Fate.REABSORBS_SMALL, fate == Fate.REABSORBS_LARGE
    mm[small] = np.where(anyway, 12.5 + 7.0 * luck.where, DECIDES_MM + 1.5 * luck.where)[small]
    mm[large] = 20.5 + 14.0 * luck.where[large]
    return mm


def _after_ovulation(
    world: World, t: dict[str, Floats], luck: Luck, ovulates: Floats
) -> tuple[Floats, Floats]:
    """Growth-clock days of the pre-lay shed and of laying; a late shed goes with a shorter wait after it."""
    late = (t["shed_days"] - world.shed_days.centre) / np.hypot(
        world.shed_days.between, world.shed_days.within
    )
    wait = world.lay_days
    spread = np.hypot(wait.between, wait.within)
    own = np.log(t["lay_days"] / wait.centre)
    rho = world.shed_lay_correlation
    days = wait.centre * np.exp(rho * spread * late + np.sqrt(1 - rho**2) * own)
    shed = ovulates + np.clip(t["shed_days"], 10, 30)
    return shed, shed + days


def _eggs(t: dict[str, Floats], luck: Luck) -> np.ndarray:
    """Eggs from her mass, her share and the mass of an egg; at least one, at most fifteen."""
    share = np.clip(t["clutch_share"], 0.18, 0.48)
    mean = t["mass_g"] * share / np.clip(t["egg_g"], 60, 125)
    return np.asarray(np.clip(np.rint(mean + 0.6 * luck.eggs), 1, 15).astype(int))
