"""What a night is worth: the gain in the expected worth of her clutch, by when she may ovulate.

For each day she may ovulate, the locks so far leave a chance `none` that none takes; they have strengths
that sum to `strength`, and strengths times the worth of each male that sum to `worth`. Her clutch is then
expected to be worth (1 - none) worth / strength: that any lock takes, times the mean worth of the males by
their strength. A night ends in a lock with a chance by her follicles; what it adds is the gain. A lock counts
fully up to 60 days before ovulation and fades to nothing at 150 (facts; our choice); after it, nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from eggtooth.engine.cycle.prior import Rates
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.occupants import Occupant
from eggtooth.engine.planning.ovulating import (
    DECIDES_DAYS,
    MIDDLES,
    Chances,
    Floats,
    chances_of,
)

LOCK = biology.FERTILE_PER_LOCK.value
LONGEST_AGO = int(biology.LOCK_FADES.value)
LATER_FERTILE = 0.8
"""Chance that a female started by a first visit is made fertile by later ones (our choice)."""


def strength(days_ahead: Floats) -> Floats:
    """How strongly a lock counts, by days until ovulation: the chance that it takes."""
    full, gone = biology.LOCK_WINDOW.value, biology.LOCK_FADES.value
    counts = np.clip((gone - days_ahead) / (gone - full), 0.0, 1.0)
    return np.asarray(LOCK * counts * (days_ahead >= 0))


def lock_chance(days_ahead: Floats) -> Floats:
    """Chance that a night together ends in a lock, by days until ovulation, from her follicles' size then."""
    mm, share = np.array(biology.LOCK_BY_MM).T
    slow, fast, hinge = biology.SLOW_GROWTH.value, biology.FAST_GROWTH.value, biology.HINGE.value
    before_hinge = days_ahead - (biology.OVULATION_AT.value - hinge) / fast
    size = np.where(before_hinge > 0, hinge - slow * before_hinge, hinge - fast * before_hinge)
    return np.asarray(np.interp(size, mm, share) * (days_ahead >= 0))


@dataclass(slots=True)
class Prospects:
    """The females of one night and what further locks would add; night `after` nights from today.

    `none`, `sum_strength`, `sum_worth` have shape (F, len(MIDDLES)), `unmet` and `lays` (F,).
    """

    ovulates: Floats
    lays: Floats
    unmet: Floats
    none: Floats
    sum_strength: Floats
    sum_worth: Floats

    def worth(self) -> Floats:
        """Expected worth of each clutch so far, if she lays, (F,)."""
        return np.asarray((self.ovulates * self._so_far()).sum(axis=1))

    def _so_far(self) -> Floats:
        return (1 - self.none) * _ratio(self.sum_worth, self.sum_strength)

    def gain(self, after: int = 0) -> tuple[Floats, Floats]:
        """What a night adds to a clutch's worth: the first times the male's worth, plus the second, (F,)."""
        ahead = MIDDLES - after
        p = strength(ahead)
        taken = (1 - self.none * (1 - p)) / np.maximum(self.sum_strength + p, 1e-12)
        chance = self.ovulates * lock_chance(ahead) * self.lays[:, None]
        plain = chance * (taken * self.sum_worth - self._so_far()) * (p > 0)
        return (chance * taken * p).sum(axis=1), plain.sum(axis=1)

    def gain_after_first(self, best: Floats, nights: Floats, after: int = 0) -> tuple[Floats, Floats]:
        """The same for a male who stands in: what he adds to what the best male for her will still do.

        `best` is that male's worth to her, `nights` how many nights a day he can give her, each (F,).
        """
        ahead = MIDDLES - after
        left = np.maximum(ahead, 0.0) * nights[:, None]
        p = strength(ahead) * (1 - (1 - lock_chance(ahead)) ** left)
        expected = replace(
            self,
            none=self.none * (1 - p),
            sum_strength=self.sum_strength + p,
            sum_worth=self.sum_worth + p * best[:, None],
        )
        return expected.gain(after)

    def presence(self, rates: Rates, after: int = 0) -> Floats:
        """Gain in the chance of a fertile clutch from the first male she meets this season, (F,).

        She mostly reabsorbs if she meets none before 20 mm (DeNardo & Autumn 2001, blood pythons).
        """
        in_time = (self.ovulates * (MIDDLES - after > DECIDES_DAYS)).sum(axis=1)
        saved = (rates.small_alone - rates.small) / (1 - rates.small)
        return np.asarray(self.unmet * in_time * self.lays * saved * LATER_FERTILE)

    def add_night(self, female: int, worth: float, after: int) -> None:
        """A night to come, by expectation: as much of a lock as is likely."""
        ahead = MIDDLES - after
        self._add(female, lock_chance(ahead) * strength(ahead), worth)
        self.unmet[female] = 0.0

    def add_seen(self, female: int, days_ago: float, locks: float, worth: float) -> None:
        """A lock or a stay that was seen; a stay without a lock counts as a share of one."""
        self._add(female, locks * strength(MIDDLES + days_ago), worth)

    def _add(self, female: int, p: Floats, worth: float) -> None:
        self.none[female] *= 1 - p
        self.sum_strength[female] += p
        self.sum_worth[female] += p * worth


def _ratio(above: Floats, below: Floats) -> Floats:
    return np.divide(above, below, out=np.zeros_like(above), where=below > 0)


Worth = Callable[[str, str], float]


def prospects_of(
    females: Sequence[Occupant], worth: Worth, settings: Settings, kept: Kept | None = None
) -> Prospects:
    """The females as they stand tonight; `worth(male, female)` also judges the males that were with them.

    `kept` holds what was said of them before, with the same `worth` and settings.
    """
    found = _blank(chances_of(females, settings), len(females))
    here = {o.tag: o for o in females}
    met = (kept or Kept()).each(
        "visits",
        {tag: (o,) for tag, o in here.items()},
        lambda tags: [_met(here[tag], worth, settings) for tag in tags],
    )
    for i, seen in enumerate(met):
        if seen is not None:
            found.unmet[i] = 0.0
            found.none[i], found.sum_strength[i], found.sum_worth[i] = seen
    return found


def _met(female: Occupant, worth: Worth, settings: Settings) -> Floats | None:
    """Chance that none of her visits took, their strengths' sum and their worths', each (MIDDLES,); `None`
    without a visit."""
    seen = visits(female, settings.season_start(female.seen.on))
    if not seen:
        return None
    today = female.seen.on
    share = np.array([locks for _, locks in seen])[:, None]
    p = share * STRENGTHS[[min((today - e.on).days, LONGEST_AGO) for e, _ in seen]]
    worths = np.array([worth(e.partner, female.tag) for e, _ in seen])
    return np.stack([np.prod(1 - p, axis=0), p.sum(axis=0), worths @ p])


STRENGTHS = strength(MIDDLES + np.arange(LONGEST_AGO + 1)[:, None])
"""How strongly a lock so many days ago counts, (days ago, MIDDLES)."""


def _blank(chances: Chances, n: int) -> Prospects:
    shape = (n, len(MIDDLES))
    return Prospects(
        chances.ovulates, chances.lays, np.ones(n), np.ones(shape), np.zeros(shape), np.zeros(shape)
    )


def visits(female: Occupant, start: date) -> list[tuple[Entry, float]]:
    """Her visits this season: one lock a day at most counts, and a stay without a lock as a share of one."""
    locks = {(e.detail, e.on): e for e in female.seen.all(Kind.LOCK, start)}
    days: dict[object, list[date]] = {}
    for male, on in locks:
        days.setdefault(male, []).append(on)
    stays = female.seen.all(Kind.PAIRED, start)
    ends = [*(e.on for e in stays[1:]), female.seen.on][: len(stays)]
    idle = biology.NIGHT_AS_LOCK.value
    return [(e, 1.0) for e in locks.values()] + [
        (stay, idle)
        for stay, end in zip(stays, ends, strict=True)
        if not any(stay.on <= on <= end for on in days.get(stay.detail, ()))
    ]
