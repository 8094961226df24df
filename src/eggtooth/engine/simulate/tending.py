"""Weighings, sheds and scans, with the scale's error, slips of the pen and weeks when nobody had the time."""

from __future__ import annotations

import numpy as np

from eggtooth.engine.entries import Kind, Sign
from eggtooth.engine.simulate.meals import breeding_male
from eggtooth.engine.simulate.room import Room
from eggtooth.engine.simulate.sightings import scanned_mm
from eggtooth.engine.simulate.tubs import GROWING

SLIP = 0.0015
"""Share of weights typed wrong: a digit lost or doubled (our choice)."""


def weigh(room: Room) -> None:
    """Weigh those whose turn it is."""
    noise, written, late = (
        room.chances.normal("scale"),
        room.chances.uniform("weight"),
        room.chances.uniform("late"),
    )
    sitting = {i for p in room.pairs.values() for i in (p.male, p.female)}
    mass = room.bodies.scale_g()
    for i in map(int, np.flatnonzero(room.alive() & (room.next_weigh <= room.today))):
        if i in sitting or (room.bodies.fasting_days[i] <= 2 and late[i] < 0.8):
            continue
        room.next_weigh[i] = room.today + _weigh_every(room, i) + int(late[i] * 5)
        if not room.noted(float(written[i]), 0.95):
            continue
        value = max(1.0, float(np.rint(mass[i] + 2.0 * noise[i])))
        room.noted_g[i] = value
        room.book.note(room.on, room.tags[i], Kind.WEIGHT, slipped(value) if written[i] < SLIP else value)


def slipped(value: float) -> float:
    """A weight with its last digit lost, as a tired hand types it."""
    return float(max(1, int(value) // 10))


def _weigh_every(room: Room, i: int) -> int:
    if breeding_male(room, i):
        return 7 if room.today - room.noted_meal[i] > 14 else 13
    grown = room.age_days(i) > 1100 and (room.year is None or i not in room.year.place)
    return 48 if grown else 28


def shed(room: Room) -> None:
    """Those who slough today; a gravid female's pre-lay shed is among the milestones instead."""
    gap, seen = room.chances.normal("shed gap"), room.chances.uniform("shed seen")
    for i in map(int, np.flatnonzero(room.alive() & (room.next_shed <= room.today))):
        young = room.bodies.tissue_g[i] < 500
        room.next_shed[i] = room.today + max(
            16, round(float((33 + 5 * gap[i]) if young else (50 + 9 * gap[i])))
        )
        if room.year and room.year.day(i, "ovulation") <= room.today < room.year.day(i, "laid"):
            continue
        if room.noted(float(seen[i]), 0.88):
            room.book.note(room.on, room.tags[i], Kind.SHED)


def scan(room: Room) -> None:
    """Scan the females whose turn it is."""
    year = room.year
    if year is None or not 44 <= room.today - year.first_day <= 265:
        return
    rng, seen = room.chances.stream("scan"), room.chances.uniform("scan seen")
    sitting = {p.female for p in room.pairs.values()}
    for i in map(int, np.flatnonzero(room.alive() & (room.next_scan <= room.today))):
        if i in year.gravid_known or i in sitting or i not in year.place:
            continue
        true_mm = year.diameter_mm(i, room.today)
        if np.isnan(true_mm):
            _found_gravid(room, i)
        elif room.noted(float(seen[i]), 0.92):
            _write_scan(room, i, float(scanned_mm(rng, room.world, np.array([true_mm]))[0]), float(seen[i]))
        room.next_scan[i] = room.today + _scan_every(year.last_mm.get(i, 0.0)) + int(seen[i] * 4)


def _found_gravid(room: Room, i: int) -> None:
    """No follicles any more: noted as ovulated when that cannot be long ago."""
    assert room.year is not None
    if room.today - room.year.day(i, "ovulation") <= 5:
        room.book.note(room.on, room.tags[i], Kind.OVULATION, note="no follicles left at the scan")
        room.year.gravid_known.add(i)


def _write_scan(room: Room, i: int, mm: float, u: float) -> None:
    assert room.year is not None
    room.year.last_mm[i] = mm
    count = None
    if mm >= 15 and u < 0.3:
        count = max(1, round(room.bodies.tissue_g[i] * 0.33 / 92 + 4 * (u - 0.15)))
    room.book.note(room.on, room.tags[i], Kind.SCAN, mm, count)


def _scan_every(mm: float) -> int:
    return 28 if mm < 10 else 14 if mm < 20 else 7 if mm < 35 else 4


def move_grown(room: Room) -> None:
    """Hatchlings past 200 g go to larger tubs, on Sundays."""
    if room.on.weekday() != 6:
        return
    for i in map(int, np.flatnonzero(room.alive() & (room.bodies.tissue_g >= 200))):
        tag = room.tags[i]
        if tag in room.small_tubs:
            room.tubs.give_back(room.small_tubs.pop(tag))
            tub = room.tubs.take(GROWING)
            room.book.note(room.on, tag, Kind.MOVED, None, str(tub))


def plugs(room: Room) -> None:
    """Sperm plugs seen in tubs of males from about 450 g."""
    seen = room.chances.uniform("plug")
    grown = room.male & (room.bodies.tissue_g > 450) & (seen < 0.004)
    for i in map(int, np.flatnonzero(room.alive() & grown)):
        room.book.note(room.on, room.tags[i], Kind.SIGN, None, Sign.SPERM_PLUG)
