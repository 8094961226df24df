"""Eggs: laid, sired, incubated, looked at, pipped and hatched, and which young are kept."""

from __future__ import annotations

import numpy as np

from eggtooth.engine.colony import Animal, Sex
from eggtooth.engine.entries import Kind
from eggtooth.engine.simulate.genes import MALE, hands_on, inherited_claims, offspring, trade_text
from eggtooth.engine.simulate.notebook import day_of
from eggtooth.engine.simulate.room import Box, Clutch, Room
from eggtooth.engine.simulate.season import incubation_days
from eggtooth.engine.simulate.truth import ClutchTruth
from eggtooth.engine.simulate.tubs import HATCHLINGS

LOCK_COUNTS_DAYS = 75
FERTILE_PER_LOCK = 0.45
CHECK_DAYS = 7
PIP_TO_HATCH_DAYS = 2


def lay(room: Room, dam: int) -> None:
    """She lays: eggs by her mass, good ones if a lock took, slugs for the rest; the mass leaves her."""
    year = room.year
    assert year is not None
    seasons, at = year.of(dam)
    rng = room.chances.keyed("clutch", dam, year.first_day)
    share, egg_g = rng.normal(0.33, 0.05), rng.normal(92, 12)
    eggs = int(
        np.clip(
            np.rint(room.bodies.tissue_g[dam] * np.clip(share, 0.2, 0.45) / np.clip(egg_g, 65, 120)), 1, 14
        )
    )
    sires = _sires(room, dam, eggs, rng)
    number = room.count(f"clutch {room.on.year}")
    truth = ClutchTruth(
        f"C{room.on:%y}-{number:02d}",
        room.tags[dam],
        room.on,
        len(sires),
        eggs - len(sires),
        tuple(room.tags[s] for s in sires),
        "",
    )
    room.truth.clutches.append(truth)
    room.bodies.tissue_g[dam] *= 1 - np.clip(eggs * egg_g * 0.98 / room.bodies.tissue_g[dam], 0.1, 0.45)
    room.book.note(room.on, room.tags[dam], Kind.LAID, float(len(sires)), eggs - len(sires) or None)
    room.next_weigh[dam] = room.today + 1
    box = _box(room)
    if sires and box:
        truth.incubator = box.incubator.tag
        box.clutches += 1
        room.clutches.append(
            _set_up(room, truth, dam, sires, box, float(seasons.incubation_residual[at]), rng)
        )


def _sires(room: Room, dam: int, eggs: int, rng: np.random.Generator) -> tuple[int, ...]:
    """Sire of each good egg: males of the locks that took, by chance; none took, none good."""
    assert room.year is not None
    ovulated = room.year.day(dam, "ovulation")
    near = [m for day, m in room.year.locks.get(dam, ()) if ovulated - LOCK_COUNTS_DAYS <= day <= ovulated]
    took = [m for m in near if rng.random() < FERTILE_PER_LOCK]
    fails = rng.random() < room.world.clutch_fails
    good = int(rng.binomial(eggs, room.world.fertile_share))
    if not took or fails:
        return ()
    weights = rng.dirichlet(np.full(len(took), 1.2))
    return tuple(int(took[k]) for k in rng.choice(len(took), good, p=weights))


def _box(room: Room) -> Box | None:
    """The emptiest incubator with a place left."""
    free = [b for b in room.boxes if b.clutches < b.incubator.places]
    return min(free, key=lambda b: b.clutches, default=None)


def _set_up(
    room: Room,
    truth: ClutchTruth,
    dam: int,
    sires: tuple[int, ...],
    box: Box,
    residual: float,
    rng: np.random.Generator,
) -> Clutch:
    lost = rng.random(len(sires)) > room.world.hatches_share
    days = tuple(int(d) for d in room.today + rng.integers(5, 55, int(lost.sum())))
    return Clutch(truth, dam, sires, _said_sires(room, dam), box, residual, days, room.today + CHECK_DAYS)


def _said_sires(room: Room, dam: int) -> tuple[str, ...]:
    """The sires the keeper writes down: males noted locked with her this season, the last one first."""
    assert room.year is not None
    begun = day_of(room.year.first_day)
    locked = [
        e.partner for e in reversed(room.book.of(room.tags[dam])) if e.kind is Kind.LOCK and e.on >= begun
    ]
    return tuple(dict.fromkeys(locked))[:3]


def incubate(room: Room) -> None:
    """One day for all eggs, and the temperatures of the boxes."""
    _heat(room)
    for clutch in list(room.clutches):
        days = float(incubation_days(room.world, clutch.box.celsius)) * clutch.residual
        clutch.ripe += 1 / days
        if clutch.pipped_on:
            if room.today >= clutch.pipped_on + PIP_TO_HATCH_DAYS:
                _hatch(room, clutch)
        elif clutch.ripe >= 1:
            _pip(room, clutch)
        elif room.today >= clutch.next_check:
            _look(room, clutch)


def _heat(room: Room) -> None:
    rng = room.chances.stream("heat")
    for box in room.boxes:
        target = box.incubator.target_c
        wander = 0.75 * (box.celsius - target) + rng.normal(0.05, 0.25)
        box.celsius = target + wander + (-2.0 if rng.random() < 0.002 else 0.0)
        read, u = round(box.celsius + rng.normal(0, 0.1), 1), float(rng.random())
        if box.clutches and room.noted(u, 0.75):
            room.book.note(room.on, box.incubator.tag, Kind.TEMPERATURE, read, "probe", hour=8.0)


def _left(room: Room, clutch: Clutch) -> int:
    return len(clutch.sires) - sum(day <= room.today for day in clutch.lost_on)


def _look(room: Room, clutch: Clutch) -> None:
    rng = room.chances.keyed("look", clutch.dam, room.today)
    clutch.next_check = room.today + CHECK_DAYS + int(rng.integers(0, 4))
    left = _left(room, clutch)
    if room.noted(float(rng.random()), 0.92) or not left:
        room.book.note(room.on, clutch.truth.dam, Kind.EGGS, float(left), "candled" if left else "lost")
    if not left:
        _clear(room, clutch)


def _pip(room: Room, clutch: Clutch) -> None:
    clutch.pipped_on = room.today
    clutch.truth.pips = room.on
    left = _left(room, clutch)
    if not left:
        room.book.note(room.on, clutch.truth.dam, Kind.EGGS, 0.0, "lost")
        _clear(room, clutch)
        return
    first = max(1, round(left * 0.6))
    room.book.note(room.on, clutch.truth.dam, Kind.PIPPED, float(first), hour=7.5)


def _clear(room: Room, clutch: Clutch) -> None:
    clutch.box.clutches -= 1
    room.clutches.remove(clutch)


def _hatch(room: Room, clutch: Clutch) -> None:
    left = _left(room, clutch)
    clutch.truth.hatched = left
    room.book.note(room.on, clutch.truth.dam, Kind.HATCHED, float(left))
    _clear(room, clutch)
    rng = room.chances.keyed("hatch", clutch.dam, room.on.year)
    young = [(*offspring(rng, room.genomes[clutch.dam], room.genomes[s], 1), s) for s in clutch.sires[:left]]
    clutch.truth.young = [(genome[0], int(sexes[0])) for genome, sexes, _ in young]
    for genome, sexes, sire in _chosen(room, young):
        _keep(room, clutch, genome, int(sexes[0]), sire, rng)


def _chosen(
    room: Room, young: list[tuple[np.ndarray, np.ndarray, int]]
) -> list[tuple[np.ndarray, np.ndarray, int]]:
    """Holdbacks: the ones that show most, up to three of a clutch and as many as the house has room for."""
    wanted = min(3, room.wanted_this_year - room.kept_this_year)
    showy = sorted(young, key=lambda y: -int((y[0] > 0).sum()))
    kept = showy[: max(0, wanted)]
    room.kept_this_year += len(kept)
    return kept


def _keep(
    room: Room, clutch: Clutch, genome: np.ndarray, sex: int, sire: int, rng: np.random.Generator
) -> None:
    claims = _claims(room, clutch, sire)
    tag = f"H{room.on:%y}-{room.count(f'young {room.on.year}'):02d}"
    tub = room.tubs.take(HATCHLINGS)
    text = "" if rng.random() < 0.05 else trade_text(genome[0], claims)
    mass = float(np.clip(rng.normal(62, 10), 35, 95))
    male = sex == MALE
    sexed = Sex.UNKNOWN if rng.random() < 0.1 else (Sex.MALE if male else Sex.FEMALE)
    animal = Animal(
        tag, sexed, "", room.on, text, clutch.said_sires, clutch.truth.dam, clutch.truth.clutch, tub
    )
    grown = (1150 if male else 2350) * float(np.exp(rng.normal(0, 0.13)))
    i = room.add(animal, genome[0], claims, mass, grown)
    room.male[i] = male
    room.small_tubs[tag] = tub
    room.truth.sires[tag], room.truth.dams[tag] = room.tags[sire], clutch.truth.dam
    room.next_shed[i] = room.today + max(5, round(float(rng.normal(10, 2.5))))
    room.first_meal[i] = room.today + max(9, round(16 * float(np.exp(rng.normal(0, 0.47)))))
    room.next_meal[i] = room.next_shed[i] + 1
    room.next_weigh[i] = room.today + 28
    room.book.note(room.on, tag, Kind.WEIGHT, float(round(mass)))
    room.noted_meal[i] = -np.inf


def _claims(room: Room, clutch: Clutch, sire: int) -> np.ndarray:
    """What the keeper may say of the young's hets: the mean over the sires written down."""
    dam = hands_on(room.genomes[[clutch.dam]], room.claims[[clutch.dam]])[0]
    said = [room.tags.index(t) for t in clutch.said_sires] or [sire]
    handed = hands_on(room.genomes[said], room.claims[said])
    claims: np.ndarray = inherited_claims(dam, handed.mean(axis=0))
    return claims
