"""What a keeper notes of true seasons: errors, gaps and nothing from the future."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.simulate.season import Fate, Seasons, draw_females, draw_seasons
from eggtooth.engine.simulate.sightings import CLOSELY, MONTHLY, UNSCANNED, log_of, scanned_mm
from eggtooth.engine.simulate.world import CARELESS, WIDE, World

START = date(2025, 9, 1)


def seasons_of(n: int, world: World = WIDE) -> Seasons:
    rng = np.random.default_rng(21)
    return draw_seasons(rng, world, draw_females(rng, n, world), START)


def logs(world: World = WIDE, until: int = 300, watching: object = CLOSELY) -> list[list[Entry]]:
    rng = np.random.default_rng(4)
    return log_of(rng, seasons_of(150, world), until, watching)  # type: ignore[arg-type]


def count(log: list[list[Entry]], kind: Kind) -> int:
    return sum(e.kind is kind for seen in log for e in seen)


def test_scan_error_is_that_of_the_facts() -> None:
    """1.5 mm for one scan: a choice of the fact sheet; bad scans come on top."""
    read = scanned_mm(np.random.default_rng(1), WIDE, np.full(40_000, 30.0))
    middle = np.percentile(read - 30, [15.87, 84.13])
    assert middle == pytest.approx([-1.5, 1.5], abs=0.26)
    far = np.mean(np.abs(read - 30) > 6)
    assert 0.003 < far < 0.03
    assert np.array_equal(2 * read, np.round(2 * read))


def test_small_follicles_are_mostly_not_seen() -> None:
    assert np.mean(scanned_mm(np.random.default_rng(1), WIDE, np.full(1000, 3.0)) == 0) > 0.7


def test_nothing_is_noted_from_the_future() -> None:
    last = date(2025, 12, 10)
    assert all(e.on <= last for seen in logs(until=100) for e in seen)


def test_entries_stand_in_order() -> None:
    assert all(seen == sorted(seen, key=lambda e: e.on) for seen in logs())


def test_no_scan_after_ovulation() -> None:
    seasons = seasons_of(150)
    for i, seen in enumerate(logs()):
        if seasons.fate[i] == Fate.LAYS:
            assert all(e.on <= seasons.on(seasons.ovulation[i]) for e in seen if e.kind is Kind.SCAN)


def test_schedules() -> None:
    assert count(logs(watching=UNSCANNED), Kind.SCAN) == 0
    assert 0.4 < count(logs(watching=MONTHLY), Kind.SCAN) / count(logs(), Kind.SCAN) < 0.6


def test_a_careless_house_misses_a_third() -> None:
    kept = count(logs(CARELESS), Kind.LAID) / np.sum(seasons_of(150, CARELESS).laid <= 300)
    assert kept == pytest.approx(2 / 3, abs=0.12)


def test_she_goes_off_food_near_25_mm() -> None:
    """At 25 mm she goes off food: common practice, no source."""
    seasons = seasons_of(150)
    share: dict[bool, list[bool]] = {True: [], False: []}
    for i, seen in enumerate(logs()):
        if seasons.fate[i] == Fate.LAYS:
            for e in seen:
                day = (e.on - START).days
                if e.kind is Kind.MEAL and day < seasons.laid[i]:
                    share[bool(day >= seasons.off_food[i])].append(e.value == 0)
    assert np.mean(share[True]) > 0.8
    assert np.mean(share[False]) < 0.1


def test_one_that_reabsorbed_eats_again() -> None:
    """That they feed again is common practice, no source; ten weeks is a choice of the invented world."""
    seasons = seasons_of(400)
    rng = np.random.default_rng(4)
    off: list[bool] = []
    back: list[bool] = []
    for i, seen in enumerate(log_of(rng, seasons, 330)):
        if seasons.fate[i] == Fate.REABSORBS_LARGE and seasons.off_food[i] >= 0:
            meals = [
                ((e.on - START).days - seasons.off_food[i], e.value == 0) for e in seen if e.kind is Kind.MEAL
            ]
            off += [no for after, no in meals if 0 <= after < 70]
            back += [no for after, no in meals if after >= 70]
    assert min(len(off), len(back)) > 50
    assert np.mean(off) > 0.8
    assert np.mean(back) < 0.15


def test_same_seed_same_entries() -> None:
    assert logs() == logs()
