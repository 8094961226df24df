"""What a keeper would note of true seasons: scans, signs, refusals and milestones, with errors and gaps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from eggtooth.engine.entries import Entry, Kind, Prey, Sign
from eggtooth.engine.simulate.follicle import Floats
from eggtooth.engine.simulate.notebook import Notebook
from eggtooth.engine.simulate.season import Seasons
from eggtooth.engine.simulate.world import World


@dataclass(frozen=True, slots=True)
class Watching:
    """How closely a house looks. Days count from the season's first; `scan_every` 0 means never scanned.

    `noted` are chances that an event is seen and written down, before the world's missed entries.
    """

    scan_every: int = 14
    scan_from: int = 45
    meals_every: int = 7
    paired_from: int = 75
    paired_every: int = 14
    ovulation_seen: float = 0.55
    shed_seen: float = 0.85
    sign_seen: float = 0.45


CLOSELY = Watching()
MONTHLY = Watching(scan_every=30)
UNSCANNED = Watching(scan_every=0)

SMALLEST_SEEN_MM = 4.5
REFUSES = 0.06
REFUSES_OFF_FOOD = 0.88

SIGNS_BEFORE = ((Sign.GLOW, 0.7), (Sign.BOWL_WRAPPING, 0.7), (Sign.COOL_SEEKING, 0.8))
"""Signs from about 25 mm to ovulation, with how often a female shows each (our choice)."""


def scanned_mm(rng: np.random.Generator, world: World, true_mm: Floats) -> Floats:
    """Scans of true diameters: to half a millimetre, with error, now and then a bad one; 0 = none seen."""
    bad = rng.random(true_mm.shape) < world.bad_scan_share
    sd = np.where(bad, world.bad_scan_mm, world.scan_error_mm)
    read = np.round(2 * (true_mm + sd * rng.standard_normal(true_mm.shape))) / 2
    return np.where(read < SMALLEST_SEEN_MM, 0.0, read)


def log_of(
    rng: np.random.Generator, seasons: Seasons, until: int, watching: Watching = CLOSELY, seed: int = 0
) -> list[list[Entry]]:
    """Entries of each female up to season day `until`, oldest first; female i has the tag `F` and i.

    `seed` only makes the ids. Cost: one to two ms a female for a whole season.
    """
    book = Notebook(seed)
    notes: Notes = []
    for part in (_scans, _milestones, _signs, _meals, _visits):
        notes += part(rng, seasons, until, watching)
    kept = rng.random(len(notes)) >= seasons.world.missed_share
    for i in sorted(np.flatnonzero(kept), key=lambda i: notes[i][:2]):
        notes[i][2](book)
    return [sorted(book.of(tag_of(i)), key=lambda e: e.on) for i in range(len(seasons))]


Notes = list[tuple[float, int, Callable[[Notebook], None]]]


def tag_of(i: int) -> str:
    """Tag of female `i`."""
    return f"F{i}"


def _scans(rng: np.random.Generator, seasons: Seasons, until: int, watching: Watching) -> Notes:
    if not watching.scan_every or until <= watching.scan_from:
        return []
    planned = np.arange(watching.scan_from, until + 1, watching.scan_every)
    true_mm = seasons.diameter_mm(planned.astype(float))
    read = scanned_mm(rng, seasons.world, np.nan_to_num(true_mm, nan=0.0))
    return [
        (float(planned[j]), i, _noting(seasons, float(planned[j]), i, Kind.SCAN, float(read[i, j])))
        for i, j in np.argwhere(~np.isnan(true_mm))
    ]


def _milestones(rng: np.random.Generator, seasons: Seasons, until: int, watching: Watching) -> Notes:
    n = len(seasons)
    seen = (
        (Kind.OVULATION, seasons.ovulation, rng.random(n) < watching.ovulation_seen),
        (Kind.PRELAY_SHED, seasons.prelay_shed, rng.random(n) < watching.shed_seen),
        (Kind.LAID, seasons.laid, np.ones(n, dtype=bool)),
    )
    return [
        (float(day), i, _noting(seasons, day, i, kind, float(seasons.eggs[i]) if kind is Kind.LAID else None))
        for kind, days, noticed in seen
        for i, day in enumerate(days)
        if noticed[i] and day <= until
    ]


def _signs(rng: np.random.Generator, seasons: Seasons, until: int, watching: Watching) -> Notes:
    notes: Notes = []
    ends = np.where(np.isnan(seasons.ovulation), seasons.mm25 + 15, seasons.ovulation)
    for sign, share in SIGNS_BEFORE:
        shows = rng.random(len(seasons)) < share * watching.sign_seen
        days = seasons.mm25 + rng.random(len(seasons)) * (ends - seasons.mm25)
        notes += _shown(seasons, days, shows, sign, until)
    warm = rng.random(len(seasons)) < 0.8 * watching.sign_seen
    notes += _shown(
        seasons, seasons.ovulation + rng.uniform(1, 25, len(seasons)), warm, Sign.HEAT_SEEKING, until
    )
    swells = rng.random(len(seasons)) < 0.6 * watching.sign_seen
    return notes + _shown(seasons, seasons.ovulation, swells, Sign.SWELLING, until)


def _shown(seasons: Seasons, days: Floats, shows: np.ndarray, sign: Sign, until: int) -> Notes:
    return [
        (float(day), i, _noting(seasons, float(day), i, Kind.SIGN, None, sign))
        for i, day in enumerate(days)
        if shows[i] and day <= until
    ]


def eats_again(seasons: Seasons) -> Floats:
    """Day each female eats again, (F,): ten days after her eggs, and not before ten weeks off food, which is
    when one that reabsorbed does (our choice); NaN for those that never went off food."""
    found: Floats = np.fmax(seasons.laid, seasons.off_food + 60) + 10
    return found


def _meals(rng: np.random.Generator, seasons: Seasons, until: int, watching: Watching) -> Notes:
    notes: Notes = []
    eats = eats_again(seasons)
    for i in range(len(seasons)):
        days = np.arange(rng.integers(watching.meals_every), until + 1, watching.meals_every)
        off = (days >= np.nan_to_num(seasons.off_food[i], nan=1e9)) & (days < eats[i])
        refused = rng.random(len(days)) < np.where(off, REFUSES_OFF_FOOD, REFUSES)
        notes += [
            (float(d), i, _noting(seasons, float(d), i, Kind.MEAL, 0.0 if no else 1.0, Prey("medium rat")))
            for d, no in zip(days, refused, strict=True)
        ]
    return notes


def _visits(rng: np.random.Generator, seasons: Seasons, until: int, watching: Watching) -> Notes:
    """Nights with a male, until she has ovulated or the season closes (day 270); none if they met none."""
    if not seasons.exposed or not watching.paired_every:
        return []
    ends = np.minimum(np.nan_to_num(seasons.ovulation, nan=270.0), min(until, 270))
    return [
        (float(day), i, _noting(seasons, float(day), i, Kind.PAIRED, None, "M0"))
        for i, end in enumerate(ends)
        for day in np.arange(
            watching.paired_from + rng.integers(watching.paired_every), end, watching.paired_every
        )
    ]


def _noting(
    seasons: Seasons,
    day: float,
    i: int,
    kind: Kind,
    value: float | None,
    detail: Sign | Prey | str | None = None,
) -> Callable[[Notebook], None]:
    on = seasons.start + timedelta(days=int(np.floor(day)))

    def write(book: Notebook) -> None:
        book.note(on, tag_of(i), kind, value, detail)

    return write
